"""The simulation turned round: which value still makes a stand hold."""
