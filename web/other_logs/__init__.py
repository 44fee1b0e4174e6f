"""The file of another logger taken in by the page: looked at, corrected, and kept as a firing."""
