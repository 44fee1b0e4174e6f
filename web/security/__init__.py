"""Who may look and who may change: passcode, sessions, slowed guessing."""
