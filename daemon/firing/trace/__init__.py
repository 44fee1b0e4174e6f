"""Readings as they come: the CSV file, the recent past, outliers, gaps."""
