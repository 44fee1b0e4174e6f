"""What kilns were foreseen to do, beside what they did."""
