"""What to key in after a firing broke off."""
