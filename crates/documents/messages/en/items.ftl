# Items: preparation, homogeneity, stability, units.
