"""The page, for browsers in the home network."""
