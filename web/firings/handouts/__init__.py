"""What one takes away from a firing: the printed card, a copy for a friend, exports, and a report as one file."""
