"""What is told, and through which channel."""
