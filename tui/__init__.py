"""The full-screen workshop and the command line; everything musical comes from engine."""
