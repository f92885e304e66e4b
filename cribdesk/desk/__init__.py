"""What can be done at the counter: operations, the slate, and what the desk asks of the outside."""
