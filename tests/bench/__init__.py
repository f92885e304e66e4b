"""Speed, measured and told as ratios in one run; nothing here is asserted. `python -m tests.bench` makes the table."""
