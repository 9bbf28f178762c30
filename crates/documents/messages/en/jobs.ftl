# Long work that runs by itself.
