"""Sourced formulas: NumPy arrays in, NumPy arrays out; no files, no vehicles, no pandas."""
