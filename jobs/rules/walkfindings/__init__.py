"""The parts of the walk check: each module finds the findings of one kind in a `WalkLog`."""
