"""Everything a person sees. Knows the terminal; decides nothing."""
