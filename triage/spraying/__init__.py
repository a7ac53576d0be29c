"""Mixing a spray, and later its dates. Knows no terminal and no journal."""
