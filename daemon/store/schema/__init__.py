"""The tables of the file: as first made, and each change since."""
