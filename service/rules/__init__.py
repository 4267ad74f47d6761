"""What do the rules say, and how are they read? Rule files and the pure functions over them."""
