"""Sheets to print at full size."""
