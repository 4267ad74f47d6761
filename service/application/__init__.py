"""What can a caller do? One module a use case, and the ports they need from outside."""
