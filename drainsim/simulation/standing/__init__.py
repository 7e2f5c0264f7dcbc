"""What happens to lanes from parking to the horizon."""
