# Review after the deadline: findings, decisions, clarification.
