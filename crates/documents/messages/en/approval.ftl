# Trials, approval, publication, corrections, complaints and appeals.
