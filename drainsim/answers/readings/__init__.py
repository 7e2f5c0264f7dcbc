"""What a vehicle's own voltage readings say about its charge, its drain and its days."""
