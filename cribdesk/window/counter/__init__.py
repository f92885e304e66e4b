"""The counter: what lies on the slate, as a picture."""
