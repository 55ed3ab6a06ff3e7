"""When two numbers, two names, two weld lines are the same one."""
