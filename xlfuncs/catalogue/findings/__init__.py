"""What is wrong or doubtful in input tables: found here once, for sheets and commands alike."""
