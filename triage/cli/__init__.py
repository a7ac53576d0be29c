"""The command line: one module a command. Reads arguments, calls one room, shows the result."""
