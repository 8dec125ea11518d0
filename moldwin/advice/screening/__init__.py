"""Rows of a table read from surfaces that are laid through some hundred computed ones."""
