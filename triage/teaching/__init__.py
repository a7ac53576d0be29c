"""What helps people learn to tell causes apart."""
