"""Which messages are sent, and through which channel."""
