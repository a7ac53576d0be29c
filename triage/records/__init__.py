"""The journal and the garden: where every visit, spray and count is kept."""
