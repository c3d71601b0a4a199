"""The record as one page to print, and how its numbers are shown."""
