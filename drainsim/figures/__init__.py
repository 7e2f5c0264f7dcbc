"""Answers as charts: results in, plotly figures out."""
