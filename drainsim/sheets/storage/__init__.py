"""Sheets a customer keeps: storage, catalogue, quote."""
