# Texts of figures: pairs, ζ against z, matrix, precision, scores over rounds.

figure-outside = What lies outside is drawn at the frame, with its number.
figure-table-code = Code
figure-table-class = Class
figure-table-reading = Reading
figure-table-level = Level
figure-table-round = Round
figure-table-date = Date
figure-table-of = Of
figure-table-score = Score

figure-youden-title = Results for { $analyte }: { $y } against { $x }
figure-youden-ellipse = Dashed: the ellipse that holds 95 % of such pairs, by a robust covariance. Lines: assigned values.
figure-youden-too-few = No ellipse: fewer than { $least } pairs.
figure-youden-singular = No ellipse: the pairs have no spread of their own in both directions.
figure-youden-diamond = Open diamond: questionable for one of the two items.
figure-youden-square = Filled square: unacceptable for one of the two items.
figure-youden-single = { $count ->
    [one] One laboratory with a number for one item only is not drawn.
   *[other] { $count } laboratories with a number for one item only are not drawn.
}
figure-youden-caption-count = { $count ->
    [0] no laboratory with a number for both items
    [one] one laboratory
   *[other] { $count } laboratories
}
figure-youden-caption-none = none outside the ellipse
figure-youden-caption-outside = { $count } outside the ellipse
figure-youden-caption-correlation = robust correlation { $r }
figure-youden-caption-own = { $code } at { $x } and { $y }
figure-youden-caption-own-inside = { $code } inside, at { $x } and { $y }
figure-youden-caption-own-outside = { $code } outside, at { $x } and { $y }

figure-zeta-title = ζ against { $symbol } for { $measurand }
figure-zeta-whisker = Whisker: the standard uncertainty that the laboratory reported, on the scale of { $symbol }.
figure-zeta-good = Good: both within ±{ $limit }.
figure-zeta-too-small = u too small: { $symbol } within ±{ $limit }, ζ beyond.
figure-zeta-too-large = u too large: ζ within ±{ $limit }, { $symbol } beyond; honest, but too large for the purpose.
figure-zeta-bad = Not covered: both beyond ±{ $limit }.
figure-zeta-good-short = good
figure-zeta-too-small-short = u too small
figure-zeta-too-large-short = u too large
figure-zeta-bad-short = not covered
figure-zeta-caption-count = { $count ->
    [0] no laboratory with an uncertainty
    [one] one laboratory with an uncertainty
   *[other] { $count } laboratories with an uncertainty
}
figure-zeta-good-caption = { $count } good in both scores
figure-zeta-too-small-caption = { $count } with u too small
figure-zeta-too-large-caption = { $count } with u too large for the purpose
figure-zeta-bad-caption = { $count } with an error that u does not cover
figure-zeta-caption-without = { $count } without an uncertainty not drawn
figure-zeta-caption-own = { $code } at { $symbol } { $z } and ζ { $zeta }
figure-zeta-ratio = u / σₚₜ

figure-overview-within = Dot: acceptable.
figure-overview-warning = Open diamond: questionable.
figure-overview-action = Filled square: unacceptable.
figure-overview-information = Ring: information only.
figure-overview-not-scored = Cross: reported, not scored.
figure-overview-below = Angle, "<": reported as less than a limit.
figure-overview-not-reported = Dash: not reported.
figure-overview-not-analysed = Two dashes: not analysed, or the analysis failed.
figure-overview-not-asked = Empty: not asked for in this item.
figure-overview-below-word = less than a limit
figure-overview-not-reported-word = not reported
figure-overview-not-analysed-word = not analysed
figure-overview-not-asked-word = not asked for
figure-overview-caption-count = { $count ->
    [0] no result
    [one] one result
   *[other] { $count } results
}
figure-overview-caption-missing = { $count } not reported

figure-mandel-title = Mandel’s { $symbol } of each laboratory for { $analyte }
figure-mandel-h = h: how far the mean of a laboratory is from the mean of all, over their standard deviation. In the order of the codes.
figure-mandel-k = k: the standard deviation within a laboratory over that of all. In the order of the codes.
figure-mandel-lines = Lines at 5 % and 1 % for the laboratories at hand. Open diamond: beyond 5 %. Filled square: beyond 1 %.
figure-mandel-caption-count = { $count ->
    [0] no value of { $symbol }
    [one] one value of { $symbol }
   *[other] { $count } values of { $symbol }
}
figure-mandel-caption-none = none beyond a line
figure-mandel-caption-action = { $count } beyond the line at 1 %
figure-mandel-caption-warning = { $count } between the lines at 5 % and 1 %
figure-mandel-place = Against the lines
figure-mandel-beyond-1 = beyond 1 %
figure-mandel-beyond-5 = beyond 5 %
figure-mandel-inside = inside

figure-precision-title = Precision against level for { $analyte }
figure-precision-level = Level ({ $unit })
figure-precision-sd = Standard deviation ({ $unit })
figure-precision-filled = Filled dot, sR: reproducibility.
figure-precision-hollow = Hollow dot, sr: repeatability.
figure-precision-planned = Stroke, σₚₜ: the standard deviation for proficiency assessment.
figure-precision-no-replicates = One result of each laboratory: repeatability cannot be estimated.
figure-precision-point = { $name }: { $symbol } { $value }
figure-precision-caption-count = { $count ->
    [0] no level
    [one] one level
   *[other] { $count } levels
}
figure-precision-caption-one = { $symbol } is { $first } % of the mean
figure-precision-caption-many = { $symbol } is { $first } % of the mean at the lowest and { $last } % at the highest

figure-trend-title = Scores over rounds: { $name }
figure-trend-ewma = EWMA
figure-trend-line = Line: moving average with λ = 0.3 (EWMA), its limits dotted.
figure-trend-few = Fewer than { $least } rounds with a score: no limits are drawn.
figure-trend-ring = Ring: look here, a rule of control charts holds.
figure-trend-look-label = look here
figure-trend-gap = –: no score in this round.
figure-trend-changed = Dotted upright line: another σₚₜ, or another kind of score, from here on.
figure-trend-superseded = *: corrected; the score of the correction is shown.
figure-trend-none = no score
figure-trend-caption-count = { $count ->
    [0] no round
    [one] { $name }: one round
   *[other] { $name }: { $count } rounds
}
figure-trend-caption-look = { $count } to look at
