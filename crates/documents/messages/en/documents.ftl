# Texts of documents: figures, certificates, and the words for classes and scores.

signal-acceptable = acceptable
signal-questionable = questionable
signal-unacceptable = unacceptable
signal-information-only = information only
signal-not-scored = not scored
signal-withdrawn = withdrawn

score-z-meaning = z: the difference from the assigned value, in units of the standard deviation for proficiency assessment σₚₜ.
score-z-prime-meaning = z′: like z, with the uncertainty of the assigned value added to σₚₜ, because that uncertainty is not negligible here.
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
figure-unnamed = Not named for want of room: { $count }.
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
figure-results-hollow = Hollow dot or square: left out of the consensus.
figure-results-crossed = Hollow dot or square, crossed diamond: left out of the consensus.
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
figure-scores-hollow = Hollow dot: information only.
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

certificate-title = Certificate of participation and performance
certificate-title-registration = Statement of registration
certificate-round = Round
certificate-number = Number
certificate-version = Version
certificate-issued = Issued
certificate-status = Status
certificate-status-preliminary = preliminary
certificate-status-interim = interim
certificate-status-final = final
certificate-status-corrected = final, corrected
certificate-status-superseded = superseded by a later version
certificate-replaces = Replaces
certificate-replaces-sentence = This certificate replaces { $number }. Reason: { $reason }
certificate-banner-demonstration = Demonstration data
certificate-banner-preliminary = Preliminary
certificate-banner-interim = Interim
certificate-banner-superseded = Superseded
certificate-page = Page
certificate-page-of = of
certificate-page-end = { $number }, version { $version }
certificate-end = End of certificate { $number }, version { $version }
certificate-end-registration = End of statement { $number }, version { $version }
certificate-laboratory = Laboratory
certificate-code = Code in this round
certificate-provider = Provider
certificate-contact = Contact
certificate-accreditation = Accreditation
certificate-not-accredited = The provider is not accredited for this scheme.
certificate-items = Items
certificate-item-unit = { $item } (unit { $code })
certificate-dates = Dates
certificate-late = The results were received after the deadline. They are scored, and left out of every consensus value.
certificate-registration-sentence = The laboratory was registered for this round. It has no valid result, so nothing is said here of its performance.
certificate-results = Results
certificate-table-alt = Results and scores, { $item }
certificate-analyte = Analyte
certificate-reported = Result
certificate-unit = Unit
certificate-column-d = D %
certificate-score = Score
certificate-class = Class
certificate-false-negative = false negative
certificate-false-positive = false positive
certificate-trace = trace, not judged
certificate-correctly-not-detected = correctly not detected
certificate-route-formulation = by formulation
certificate-route-reference = from a reference material
certificate-route-expert = from expert laboratories
certificate-route-participants = as a consensus of the participants
certificate-route-all = All assigned values were found { $route }.
certificate-route-some = Assigned values found { $route }: { $analytes }.
certificate-note-converted = { $analyte }: evaluated as { $value }, converted from the unit reported.
certificate-note-loq-met = { $analyte }: the limit reported meets the required limit of quantification of { $required }.
certificate-note-loq-not-met = { $analyte }: the limit reported does not meet the required limit of quantification of { $required }.
certificate-note-qualified = { $analyte }: the uncertainty of the assigned value is not negligible; the class is qualified.
certificate-note-near-loq = { $analyte }: the content is close to the limits of quantification.
certificate-note-excluded = { $analyte }: left out of consensus and summary. { $reason }
certificate-note-no-class = { $analyte }: { $reason }
certificate-note-remark = { $analyte }: { $text }
certificate-not-reported = Not reported
certificate-missing = { $analyte } ({ $item }): { $reason }
certificate-missing-no-reason = { $analyte } ({ $item }): no reason given
certificate-summary = Summary
certificate-count-scored = scored
certificate-count-acceptable = acceptable
certificate-count-questionable = questionable
certificate-count-unacceptable = unacceptable
certificate-count-information-only = information only
certificate-count-not-scored = not scored
certificate-count-withdrawn = withdrawn
certificate-count-false-positives = false positives
certificate-count-false-negatives = false negatives
certificate-figure = All scores
certificate-uncertainty = Reported uncertainties
certificate-limits = How to read the scores
certificate-limits-two = |{ $kind }| ≤ { $warning } is acceptable, between { $warning } and { $action } questionable, from { $action } on unacceptable.
certificate-limits-one = |{ $kind }| < { $action } is acceptable, from { $action } on unacceptable.
certificate-bound-meaning = A result “<” has no score of its own; the number given is the bound below which the score lies.
certificate-cautions = What this document does not say
certificate-caution-scope = The scores describe these results, on these items, in this round. They do not certify the laboratory, and are neither an accreditation nor a licence to practise.
certificate-caution-ranking = Scores must not be used to rank laboratories. A difference between two acceptable scores means nothing.
certificate-caution-authority = The limits are those of the scheme. Where a law or an authority sets its own criterion, that criterion and the decision of the competent authority prevail; what follows for licensed practice is theirs to decide.
certificate-caution-chance = Among { $count } scores, a laboratory that only just meets the criterion (no bias, spread σₚₜ) has about { $expected } beyond ±2 by chance alone.
certificate-caution-chance-few = Even a laboratory that meets the criterion now and then has a score beyond the warning limit by chance alone.
certificate-caution-kinds = z, z′, ζ, Eₙ and scores on a logarithmic scale cannot stand for one another. Compare rounds by the same kind of score with the same σₚₜ, otherwise by D %.
certificate-caution-consensus = A consensus value speaks for the participants. It is not traceable or true by itself, and a bias that all share stays invisible.
certificate-caution-information = Results marked “information only” must not be quoted as passed or failed.
certificate-caution-complete = A laboratory may publish its own results only, and then all of them for the round, not a selection.
certificate-caution-version = A version can be replaced. Ask the provider whether this one still stands.
certificate-caution-version-at = A version can be replaced. Whether this one still stands is said at { $address }
certificate-caution-demonstration = Demonstration data: organisation, laboratories and numbers are invented.
certificate-caution-registration = Registration for a round says nothing of performance, and is neither an accreditation nor a licence to practise.
certificate-report = Belongs to { $report }. A report of the round that is of this publication names its number.
certificate-authorised = Authorised by
certificate-evidence = Recomputing the scores
certificate-package-sha256 = SHA-256 of the data package (file)
certificate-evaluation-sha256 = SHA-256 of the evaluation
certificate-engine = Evaluated with
certificate-recompute = The data package that the laboratory can download holds the plan, the decisions and all results under codes. “roundel evaluate PACKAGE.json” computes every score anew from it, without a server; what it prints has the SHA-256 given for the evaluation.
certificate-attachment = Machine-readable copy of this certificate
