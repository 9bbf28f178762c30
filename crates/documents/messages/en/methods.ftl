# Groups of methods and their comparison.
