"""Work by several processes or threads at once, with its results in the order of the tasks."""
