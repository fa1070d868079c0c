"""The panes: drawing functions from a view to a sheet, and the one widget that shows a sheet."""
