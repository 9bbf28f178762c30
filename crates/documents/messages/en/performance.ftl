# Pages of figures: matrices, pairs, precision, performance over rounds, the gallery.

nav-performance = Performance
matrix-heading = All results at a glance
matrix-title = All results of { $code }
matrix-measurand = Measurand
own-matrix-title = Results of laboratory { $code }
pairs-heading = Pairs of items
zeta-heading = Error and reported uncertainty

precision-link = Precision of the method
precision-title = Precision of the method in { $code }
precision-lead = The round read as a collaborative trial (ISO 5725-2). Left out is what a decision leaves out. Where each laboratory uses its own method, this is the spread of the participants, not the precision of one method.
precision-numbers = Numbers
precision-numbers-note = Standard deviations: sr of repeatability, sL between laboratories, sR of reproducibility; r = 2.8 sr, R = 2.8 sR; in brackets intervals of 95 %; recovery against an assigned value that is not a consensus, with U for k = 2; HorRat against 22 % below a mass fraction of 1.2·10⁻⁷. The figures below are of all laboratories.
precision-column-counted = Laboratories
precision-column-mean = Mean
precision-column-recovery = Recovery, %
precision-all = { $count ->
    [one] the one laboratory
   *[other] all { $count }
}
precision-kept = { $count } without { $aside } set aside
precision-tests = Tests of outlying laboratories
precision-tests-note-iso = In the order made: Cochran's test of the largest spread, then Grubbs' tests of one and of two means. Beyond the value at 1 % a laboratory is an outlier, set aside and the test made again, until more than 2/9 of the laboratories would be; between 5 % and 1 % it is a straggler and stays. The lines of h below are for one laboratory; Grubbs’ test allows for having picked the most extreme of all, and reaches further. Why a value stands out is a question to the laboratory, not to the test.
precision-tests-note-harmonised = In the order made: Cochran's test of the largest spread, Grubbs' test of the most extreme mean, and where it finds nothing of two means at one end and of both extremes. Beyond the value at 2.5 % a laboratory is an outlier, set aside and the tests made again, until more than 2/9 of the laboratories would be. The lines of h below are for one laboratory; Grubbs’ test allows for having picked the most extreme of all, and reaches further. Why a value stands out is a question to the laboratory, not to the test.
precision-single = Where each laboratory gave one value, repeatability cannot be told, and sR is the spread of the single values.
precision-with-interval = { $value } ({ $low } to { $high })
precision-test-grubbs-extremes = Grubbs, both extremes
precision-tests-none = No test could be made: they need three laboratories, Cochran's also replicates.
precision-column-test = Test
precision-column-statistic = Statistic
precision-column-at = at { $percent } %
precision-column-finding = Finding
precision-test-cochran = Cochran
precision-test-grubbs = Grubbs, one mean
precision-test-grubbs-pair = Grubbs, two means
precision-finding-none = none
precision-finding-straggler = straggler, kept
precision-finding-outlier = outlier, set aside
precision-finding-stopped = outlier, kept: more than 2/9 would go
precision-none = There are too few results for this analyte to say anything of precision.
precision-level = item { $item }, mean { $mean } { $unit }

performance-link = Performance over rounds
performance-heading = Performance over rounds
performance-lead = The published scores of your laboratory in all its rounds, whatever its code was. No other laboratory sees this page.
performance-none = None of your rounds is published yet. Your scores appear here when the first one is.
performance-look = Look here
performance-look-hint = Rules of control charts hold at the newest round of these analytes. They are no class: they say where to look.
performance-show = Show
performance-all = All analytes
performance-pooled-hint = All analytes together have no moving average and no rules: choose an analyte for them.
performance-together = Together
performance-together-hint = The items of a round are measured on one occasion, so they count as one value: the mean of their m scores times √m, which scatters by 1 where they are independent. The moving average and the rules over rounds go by it. A shared bias does not cancel in it, and one score far out can hide in it: so a score at or beyond 3 is said of each item for itself.
performance-round = Round
performance-date = Closed
performance-of = Of
performance-no-score = no score
performance-other-sigma = σₚₜ is another than in the round before.
performance-other-kind = The kind of score is another than in the round before.
performance-corrected = Corrected: this score took the place of an earlier one.
performance-rule-beyond = Look here: a score at or beyond 3.
performance-rule-two = Look here: two successive rounds beyond 2 on the same side.
performance-rule-three = Look here: three of four successive rounds beyond 1 on the same side.
performance-rule-six = Look here: six rounds in a row on the same side of zero.
performance-rule-average = Look here: the moving average (λ = 0.3) is beyond three times its standard deviation.
performance-newer = Newer rounds
performance-earlier = Earlier rounds

gallery-link = Gallery of figures
gallery-heading = Gallery of figures
gallery-invented = All data on this page are invented by a rule: no laboratory and no round is behind them.
gallery-cases = Data
gallery-one = One point
gallery-eight = 8 laboratories
gallery-forty = 40 laboratories
gallery-four-hundred = 400 laboratories
gallery-ties = Ties
gallery-extremes = Extremes
gallery-long-names = Long names
gallery-copy-laboratory = { $figure }, copy of a laboratory
gallery-copy-organiser = { $figure }, copy of the organiser
gallery-results = Sorted results
gallery-scores = Scores in the order of the codes
gallery-youden = Pairs of items
gallery-zeta = ζ against z
gallery-overview = All results of a round
gallery-own-overview = All results of one laboratory
gallery-own-scores = Scores of one laboratory
gallery-mandel-h = Mandel’s h
gallery-mandel-k = Mandel’s k
gallery-precision = Precision against level
gallery-trend = Scores over rounds
gallery-density = Where results crowd
gallery-strip = All results of a laboratory over the centres of all
gallery-strip-small = The same, beside a finding
gallery-units = Units in the order of filling
gallery-days = Units over days
gallery-study-name = { $analyte }, { $item }
