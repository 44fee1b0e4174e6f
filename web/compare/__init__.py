"""The page that compares two to six firings."""
