"""Sheets for people: lesson, lead sheet, chord chart, figure sheet, singer's pack."""
