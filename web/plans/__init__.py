"""Plans: written as on paper, checked, versioned."""
