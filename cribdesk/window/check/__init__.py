"""The inspection page: one step a page, over all places."""
