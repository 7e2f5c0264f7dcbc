"""Histories of supply voltages that vehicles' units and voltmeters report, from any usual file."""
