"""The watches: a file for each kind of alert, with its facts, its watch, its words and its record ``KIND``."""
