"""How much electrical energy a firing took, reckoned from its temperatures and the kiln's rated power. Pure."""
