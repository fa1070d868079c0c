"""Being built."""
