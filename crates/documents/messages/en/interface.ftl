# The interface for programs: tokens, problems, its page.
