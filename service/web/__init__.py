"""How is the service reached over HTTP? Decode, call one use case, encode."""
