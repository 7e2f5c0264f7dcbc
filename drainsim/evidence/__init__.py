"""What the model was held against: published values, second opinions, twins, sensitivity."""
