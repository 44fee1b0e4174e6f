"""The probe beside the kiln."""
