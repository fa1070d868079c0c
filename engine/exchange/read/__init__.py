"""Reading what other programs wrote, behind limits, with a report of what was understood."""
