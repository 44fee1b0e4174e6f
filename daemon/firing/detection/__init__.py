"""What several watches share: it finds something in the readings, and knows no kinds and no words."""
