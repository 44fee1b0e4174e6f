"""The second process: sends what waits in the outbox to its channels and gives a sign of life."""
