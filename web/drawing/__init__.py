"""Curves, strips and dot charts as SVG, and the same traces for plotly."""
