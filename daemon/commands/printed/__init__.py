"""What commands print, in plain lines and as JSON."""
