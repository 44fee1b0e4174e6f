"""What pages, commands and the daemon cost on a record of 50, 500 and 5,000 firings."""
