"""What a job is made of, as values: goal, stock, rules, changes, answers; and what judges them."""
