"""The music of Alberti: from a chord progression to a broken-chord piano part.

Nothing in this package knows of a screen; DEVELOPERS.md explains the floors.
"""
