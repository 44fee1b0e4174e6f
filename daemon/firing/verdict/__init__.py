"""What is said of a firing when it is over, and of the glass while it runs."""
