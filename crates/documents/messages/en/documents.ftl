# Texts of documents: figures, certificates, and the words for classes and scores.

signal-acceptable = acceptable
signal-questionable = questionable
signal-unacceptable = unacceptable
signal-information-only = information only
signal-not-scored = not scored

score-z-meaning = z: the difference from the assigned value, in units of the standard deviation for proficiency assessment σ_pt.
score-z-prime-meaning = z′: like z, with the uncertainty of the assigned value added to σ_pt, because that uncertainty is not negligible here.
score-zeta-meaning = ζ: the difference from the assigned value, in units of the combined standard uncertainty of result and assigned value.
score-en-meaning = Eₙ: the difference from the assigned value, divided by the combined expanded uncertainty (k = 2) of result and assigned value.

figure-count-word = { $count ->
    [1] one
    [2] two
    [3] three
    [4] four
    [5] five
    [6] six
    [7] seven
    [8] eight
    [9] nine
   *[other] { $count }
}
figure-caption-comma = ,{" "}
figure-caption-sentence = { $text }.
figure-results-title = Results for { $measurand }, in { $unit }
figure-results-assigned = assigned value
figure-results-assigned-short = assigned
figure-results-limit = { $multiple } σ
figure-results-order = { $count ->
    [one] One laboratory.
   *[other] { $count } laboratories in order of their result.
}
figure-results-order-uncertainty = { $count ->
    [one] One laboratory, with the uncertainty it reported.
   *[other] { $count } laboratories in order of their result, with the uncertainty each reported.
}
figure-results-hairlines = Thin pair: expanded uncertainty of the assigned value.
figure-results-hollow = Hollow: left out of the consensus.
figure-results-arrows = Arrow: reported as less than its upper end.
figure-results-caption-count = { $count ->
    [0] no laboratory with a result
    [one] one laboratory
   *[other] { $count } laboratories
}
figure-results-caption-mean = robust mean { $value }
figure-results-caption-assigned = assigned value { $value }
figure-results-caption-assigned-by = assigned value { $value } { $route }
figure-results-caption-low = { $count } at or below { $limit } σ
figure-results-caption-high = { $count } at or above { $limit } σ
figure-results-caption-low-between = { $count } between { $limit } and { $outer } σ
figure-results-caption-high-between = { $count } between { $limit } and { $outer } σ
figure-results-caption-below = { $count } reported as less than a limit

figure-scores-title = { $kind } of each laboratory for { $measurand }
figure-scores-warning = warning
figure-scores-action = action
figure-scores-order = { $count ->
    [one] One laboratory.
   *[other] { $count } laboratories in the order of their codes.
}
figure-scores-hollow = Hollow: information only.
figure-scores-arrows = Arrow: reported as less than a limit; the score lies below the arrow’s upper end.
figure-scores-cut = Beyond ±{ $cap } the number is written.
figure-scores-caption-count = { $count ->
    [0] no { $kind } score
    [one] one { $kind } score
   *[other] { $count } { $kind } scores
}
figure-scores-caption-none = none beyond a limit
figure-scores-caption-low = { $count } at or below { $limit }
figure-scores-caption-high = { $count } at or above { $limit }
figure-scores-caption-low-between = { $count } between { $limit } and { $outer }
figure-scores-caption-high-between = { $count } between { $limit } and { $outer }
figure-scores-caption-bounds = { $count } only as a bound
figure-scores-caption-own = { $code } at { $score }
figure-scores-caption-own-bound = { $code } below { $score }

figure-own-title = Scores of laboratory { $code }
figure-own-limits = Dashed rules: warning at ±{ $warning }. Solid rules: action at ±{ $action }.
figure-own-limit = Solid rules: action at ±{ $action }.
figure-own-diamond = Open diamond: questionable.
figure-own-square = Filled square: unacceptable.
figure-own-arrows = Arrow: reported as less than a limit; the score lies somewhere along or beyond the arrow.
figure-own-no-score = not scored
figure-own-caption-count = { $count ->
    [0] no score of laboratory { $code }
    [one] one score of laboratory { $code }
   *[other] { $count } scores of laboratory { $code }
}
figure-own-caption-class = { $count } { $class }
