# The plan of a round: checklist, versions, signatures, amendments, forecast.
