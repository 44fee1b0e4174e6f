"""Faulty firings: a row is a kind of fault; each has its line in a study's table and any number of firings."""
