"""Planning: a team's dive on the gas in its cylinders: schedule, supply, oxygen, cases."""
