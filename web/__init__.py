"""The page watched from the house."""
