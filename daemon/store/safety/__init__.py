"""What guards the record: copies of it, what is done when it is damaged, and its mark."""
