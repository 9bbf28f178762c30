# Texts of problems
