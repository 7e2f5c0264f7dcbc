"""Fuzzing of every reader: hostile input ends in an answer or one clear sentence."""
