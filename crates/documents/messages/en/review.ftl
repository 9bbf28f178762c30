# Review after the deadline: findings, decisions, clarification. Findings say what
# data are consistent with or what is possible, never what somebody did.

review = Review
measurand = Measurand
review-title = Review of { $code }
review-count = To decide: { $open } open, { $done } done.
review-count-past = The review is over: { $done } findings were decided on, { $open } were left as they are.
review-careful = A finding says what the numbers are consistent with, not what happened. A person decides, for a reason that does not depend on the size of a result.
review-raw-set = Results
review-frozen = { $count ->
    [one] One set
   *[other] { $count } sets
} of results, frozen on { $at }. SHA-256:
review-pages = Pages
review-all-seen = You have opened the page of every measurand.
review-unseen = Not opened by you: { $mine }. Not opened by anybody: { $all }.
review-first-unseen = Open the first one
review-unseen-list = Pages you have not opened: { $count }
review-open-here = { $count } open
review-filter = Kind of finding
review-filter-all = All
review-show = Show
review-show-open = What is open
review-show-all = All
review-filter-button = Show
review-to-decide = To decide
review-left = Left as they are
review-nothing-open = Nothing is open.
review-nothing-here = There is nothing of this kind.
review-open-of = { $open } open of { $all }
review-information = For information
review-information-hint = These need no decision. Some honest results are flagged by chance; they are counted here for that reason.
review-open = Open
review-done = Done
review-note = Note
review-laboratory-name = Results of { $code }
review-laboratory-title = Results of { $code }
review-findings = Findings
review-no-findings = Nothing was found.
review-findings-here = { $count ->
    [one] one finding
   *[other] { $count } findings
}
review-sorted = Results in order of size
review-density = Where results crowd
review-candidates = Possible assigned values
review-candidates-hint = Results left out do not count here. The plan names its route before results are known; the others are for comparison.
candidate = Estimate
candidate-planned = used
candidate-given = Planned value, { $basis }
candidate-algorithm-a = Algorithm A
candidate-q-hampel = Q method with Hampel’s mean
candidate-median-made = Median and MADe
candidate-median-niqr = Median and nIQR
candidate-mean = Mean and standard deviation
candidate-limit-aware = Median by ranks, with results below a limit
candidate-mode = Highest mode
review-groups = Groups of methods
review-groups-hint = Groups with five results or more that count.
review-group = Group
review-others = The same analyte elsewhere
review-round-item = Round, item
review-unacceptable = Unacceptable
review-tick = Tick
review-tick-one = Tick { $code }
review-as-typed = As typed
review-as-read = As read
review-typed-in = typed in { $unit }
review-own-loq = own LOQ { $loq }
review-replicate-spread = s of replicates { $s }
review-identified = identified, not quantified
review-not-analysed = not analysed
review-failed = no result
review-decide-ticked = Decide on the ticked results
review-decide-these = { $count ->
    [one] Decide on this result
   *[other] Decide on these { $count } results
}
review-decide-set = Decide on all { $count } results of { $code }
review-decide-whole = Decide on the whole set ({ $count } results)
review-decide-item = Decide on all of item { $item }
review-strip = All results over the median of all laboratories
review-strip-point = { $name }: { $times } times the median
review-method = Method, as declared
review-no-method = Nothing was declared.
review-analysed = analysed on { $day }
review-late = These results came after the deadline. They are scored and take no part in a consensus.
review-measurand-decisions = Decisions on this measurand
review-measurand-none = Nothing was decided on it as a whole.
review-topic = About
review-topic-homogeneity = Homogeneity
review-topic-stability = Stability
review-topic-shape = Shape of the results
review-topic-consent = Consensus of few
review-topic-other = Anything else
review-kind = Decision
review-kind-as-planned = Evaluate as planned
review-kind-add-uncertainty = Add a standard uncertainty
review-kind-add-sd = Add a standard deviation to σₚₜ
review-kind-information-only = Information only: scores without class
review-kind-not-scored = Not scored
review-kind-consent = Consent to the consensus
review-number = Number, in { $unit }
review-measurand-reason-hint = It is printed where it changes what is reported.
review-measurand-decide = Record the decision
review-link = Review

finding-results = Results concerned
finding-is-open = Nobody has decided on it.
finding-is-done = It has been decided on.
finding-what-now = What becomes of it
finding-decide-measurand = Decide on the measurand
finding-reason = Reason
finding-reason-hint = To keep everything as it is: what you looked at, and why nothing is changed.
finding-keep = Looked at, kept
finding-open-again = Open it again
finding-said = So far
finding-said-kept = Looked at, kept
finding-said-open = Opened again

finding-kind-whole-set-factor = Whole set off by a power of ten
finding-kind-item-swap = Items possibly exchanged
finding-kind-row-shift = Rows possibly shifted
finding-kind-analyte-swap = Analytes possibly exchanged
finding-kind-similarity = Two sets alike
finding-kind-single-factor = Single result off by a power of ten
finding-kind-modality = Several modes
finding-kind-independent-value = Consensus and independent value differ
finding-kind-homogeneity = Homogeneity not plainly passed
finding-kind-stability = Stability not plainly passed
finding-kind-few-participants = Consensus of few
finding-kind-uncertainty-ratio = Uncertain assigned value
finding-kind-censored-share = Many results below their limits
finding-kind-many-excluded = Many results left out
finding-kind-many-unacceptable = Many unacceptable scores of a measurand
finding-kind-laboratory-unacceptable = Many unacceptable scores of a laboratory
finding-kind-false-positive = False positives
finding-kind-false-negative = False negatives
finding-kind-basis-ratio = Possibly another form of the analyte
finding-kind-bias-pattern = All results to one side
finding-kind-analyte-bias = Some analytes to one side
finding-kind-zeta-beyond = Good z, doubtful ζ
finding-kind-one-uncertainty = One uncertainty for everything
finding-kind-date-effect = Dependence on the day of analysis
finding-kind-wide-spread = Wide spread in one item
finding-kind-skewness = Skewed results
finding-kind-near-loq = Level near the limits of quantification
finding-kind-possible-factor = Single result, possible factor
finding-kind-possible-exchange = Two analytes, possibly exchanged
finding-kind-identical-replicates = Identical replicates
finding-kind-replicate-spread = Replicates far apart
finding-kind-half-away = More than half of the median away
finding-kind-uncertainty = Uncertainties to be looked at
finding-kind-loq-above-required = Limit of quantification above the required one
finding-kind-below-own-loq = Values below the own limit of quantification
finding-kind-late = Received late

finding-whole-set-factor = { $code }: all { $count } results are consistent with a factor of 10^{ $power } (median of log₁₀ of the ratios { $median }, spread { $spread }).
finding-item-swap = { $code }: the results of items { $first } and { $second } are consistent with an exchange of the two. Over { $count } analytes the sum of squares is { $before } as reported and { $after } exchanged.
finding-row-shift = { $code }, item { $item }: { $count } neighbouring rows from { $first } to { $last } are consistent with a shift by one row { $direction ->
    [down] down
   *[other] up
}. The sum of squares is { $before } as reported and { $after } shifted back.
finding-analyte-swap = { $code }: the results of { $first } and { $second } are consistent with an exchange of the two in { $count } items. The sum of squares is { $before } as reported and { $after } exchanged; as reported, the two are off { $times } times as much as its other analytes.
finding-similarity = { $first } and { $second }: { $equal } of { $shared } shared results are equal numbers; chance lets expect { $expected } (probability { $probability }). Correlation of residuals: { $correlation }. There may be reasons other than copying. For the staff only; nothing of it is printed.
finding-single-factor = { $code }, { $analyte }, item { $item }: { $ratio } times the assigned value, consistent with a factor of { $factor } (z = { $z }). { $others ->
    [yes] Its other results are in order.
   *[no] Its other results are not all in order.
}
finding-possible-factor = { $code }, { $analyte }, item { $item }: { $ratio } times the assigned value; a factor of { $factor } is possible (z = { $z }). Chance makes this too.
finding-possible-exchange = { $code }: the results of { $first } and { $second } fit better exchanged in { $count } items (sum of squares { $before } as reported, { $after } exchanged), and chance makes this too: they are off { $times } times as much as its other analytes, or its method explains one of them.
finding-modality = { $analyte }, item { $item }: { $count } modes, from { $low } to { $high } { $unit }, in { $several } % of 1000 resampled sets; the smallest holds { $smallest } % of { $p } results.
finding-independent-value = { $analyte }, item { $item }: the consensus of { $p } is { $consensus }, the independent value { $independent } { $unit }. The difference is { $difference } σₚₜ, with a standard uncertainty of { $u } { $unit }.
finding-homogeneity = { $analyte }, item { $item }: between units { $seen }, limit { $limit } { $unit }. { $met ->
    [expanded] Only the wider criterion is met.
   *[none] No criterion is met.
}
finding-stability = { $analyte }, item { $item }: change { $seen }, limit { $limit } { $unit }. { $met ->
    [expanded] Only the wider criterion is met.
   *[none] No criterion is met.
}
finding-few-participants = { $analyte }, item { $item }: the consensus is of { $p } results. It needs a reviewer’s consent.
finding-uncertainty-ratio = { $analyte }, item { $item }: u(xₚₜ)/σₚₜ is { $q }, above 0.3.
finding-censored-share = { $analyte }, item { $item }: { $count } of { $of } results ({ $share } %) are below their limits.
finding-many-excluded = { $analyte }, item { $item }: { $count } of { $of } results ({ $share } %) are left out.
finding-many-unacceptable = { $analyte }, item { $item }: { $count } of { $of } scores ({ $share } %) are unacceptable.
finding-laboratory-unacceptable = { $code }: { $count } of { $of } scores ({ $share } %) are unacceptable.
finding-false-positive = { $analyte }, item { $item }: a value where the analyte is absent, from { $codes }.
finding-false-negative = { $analyte }, item { $item }: “<” where the analyte is present well above the limit, from { $codes }.
finding-basis-ratio = { $code }, { $analyte }: { $observed } times what was expected in { $count } items; another form of the analyte is possible (ratio { $ratio }).
finding-bias-pattern = { $code }: the median z of { $count } results is { $median } (95 % interval { $low } to { $high }): all to the { $side ->
    [low] low
   *[high] high
} side. Volume, internal standard or calibration are possible.
finding-analyte-bias = { $code }: { $analytes } are { $side ->
    [low] low
   *[high] high
} in every item, about { $ratio } times the centre; the median z of its other results is { $others }. What these analytes have in common (recovery, internal standard, calibration) may explain it.
finding-zeta-beyond = { $code }: { $count } of { $of } results have a good z and ζ beyond 2. The uncertainties are probably too small for what the laboratory finds.
finding-one-uncertainty = { $code }: the uncertainty { $typed } stands beside { $count } results from { $lowest } to { $highest }. A percentage typed as a number is possible.
finding-date-effect = { $analyte }, item { $item }: { $slope } % a day of { $p } results by day of analysis (95 % interval { $low } to { $high }); { $change } σₚₜ over the period. Instability is possible.
finding-wide-spread = { $analyte }, item { $item }: robust spread of { $spread } % against { $least } % in item { $sister }. Look at homogeneity again.
finding-skewness = { $analyte }, item { $item }: medcouple { $medcouple }, mean less median { $difference } σₚₜ. Compare on the logarithmic scale.
finding-near-loq = { $analyte }, item { $item }: the assigned value { $value } { $unit } is below three times the median limit of quantification, { $median } { $unit }.
finding-identical-replicates = { $code }: the replicates of all { $count } results are identical.
finding-replicate-spread = { $code }: replicates further apart than those of the others (Mandel’s k, 1 %) for { $count } { $count ->
    [one] measurand
   *[other] measurands
}.
finding-half-away = { $analyte }, item { $item }: more than half of the median away: { $codes }. A list only; nothing is left out for it.
finding-uncertainty = { $code }: { $count } of { $of } stated uncertainties are probably too { $side ->
    [small] small
   *[large] large
}. No class depends on it.
finding-loq-above-required = { $code }: the limit of quantification, declared or stated with a “<”, is above the required one for { $count } { $count ->
    [one] measurand
   *[other] measurands
}.
finding-below-own-loq = { $code }: { $count } { $count ->
    [one] value is
   *[other] values are
} below the own limit of quantification.
finding-late = { $code }: received after the deadline.

decide-results-title = Decide on results
decide-results-rule = The laboratory’s number is never altered. When in doubt, keep: robust statistics deal with it. The reason must hold whatever the size of the result, and is printed.
decide-now = Now
decide-now-counts = counts
decide-kind = Decision
decide-cause = What speaks for it
decide-cause-choose = Choose
decide-preview = Show what it would change
decision-kind-keep = Keep: it counts
decision-kind-blunder = Blunder: out of consensus and summary, scored as reported
decision-kind-invalid = Invalid for the study, by no fault of the laboratory: not scored
decision-kind-withdrawn = Withdrawn by the laboratory before anything was disclosed: not scored
decision-cause-unit = Unit, a power of ten
decision-cause-dilution = Dilution or another factor
decision-cause-items-exchanged = Items exchanged
decision-cause-analytes-exchanged = Analytes exchanged
decision-cause-rows-shifted = Rows shifted
decision-cause-basis = Another form of the analyte
decision-cause-transcription = Slip of writing
decision-cause-organiser = The item, its transport or its handling by the organiser
decision-cause-withdrawn = Withdrawn by the laboratory
decision-cause-in-order = Looked at, nothing speaks against it
decision-cause-other = Other, as the reason says
decision-kind-missing = Choose what is decided.
decision-cause-missing = Choose what speaks for it.
decision-cells-missing = Tick at least one result.
decision-withdrawn-late = A result cannot be withdrawn after scores were disclosed. Choose another decision.
judgement-topic-missing = Choose what the decision is about.
field-cause = What speaks for it
field-topic = About
unscored-because = Not scored: { $reason }.

preview-title = What it would change
preview-not-yet = Nothing is decided yet.
preview-rule = The evaluation was made without and with this decision. The difference is kept with it.
preview-results = Results
preview-count = { $count } results
preview-classes = Classes that change
preview-no-class = No class changes.
preview-before = Before
preview-after = After
preview-numbers = Numbers
preview-no-number = No number changes.
preview-unchanged = The assigned value stays the same for { $count } of { $of }.
preview-counting = Values that count
preview-confirm = Record the decision
preview-leave = Leave it

clarifications = Requests to confirm
clarifications-link = Requests to confirm: { $waiting } waiting
clarification-rule = A laboratory may be asked, in fixed words, to confirm its results for an item. All its analytes of the item are named alike, so that no result is pointed at. The answer changes no number.
clarification-words = Please confirm unit, basis and transcription of your results for item { $item }.
clarification-item = Item
clarification-ask = Ask to confirm
clarification-none = Nobody was asked.
clarification-waits = No answer yet.
clarification-asked-at = asked on { $at }, { $count } analytes
clarification-answered-at = Answered on { $at }
clarifications-own = Confirm results
clarifications-own-lead = The organiser asks for this with all results of an item alike. Your results stay as you sent them, whatever you answer; write what you found when you looked.
clarifications-own-none = You are not asked to confirm anything.
clarifications-own-link = Requests to confirm your results: { $waiting }
clarification-analytes = This is about: { $analytes }.
clarification-answer = Your answer
clarification-send = Send the answer
clarification-closed = It was not answered while the round was in review.
conflict-clarification = Laboratories are asked to confirm results only between closing and publication.
conflict-clarification-group = Too few results of this laboratory in this item are without a finding, so asking would point at those with one. Choose another item.
conflict-clarification-waits = This laboratory has been asked for this item and has not answered yet.
conflict-clarification-answered = This was answered before. See the answer on the page.
conflict-raw-set = The results in the database are not those that were frozen when the round was closed ({ $codes }). Nothing goes on until this is cleared up: ask whoever runs this installation to compare the database with a backup.

done-noted = That is recorded.
done-results-decided = The decision is recorded. Evaluate again before publishing.
done-measurand-decided = The decision is recorded. Evaluate again before publishing.
done-clarification-asked = The laboratory is asked.
done-clarification-answered = Your answer is with the organiser.

event-results-frozen = The results were frozen, SHA-256 { $detail }
event-finding-kept = A finding was looked at and kept: { $detail }
event-finding-reopened = A finding was opened again: { $detail }
event-results-decided = Results were decided on: { $detail }
event-clarification-asked = A laboratory was asked to confirm results: { $detail }
event-clarification-answered = A laboratory answered to a request to confirm: { $detail }

message-kind-clarification = Request to confirm results
mail-subject-clarification = { $provider }: please confirm results of { $title }
mail-body-clarification =
    Dear { $name },

    the organiser of round { $code }, { $title }, asks { $laboratory } to confirm unit, basis and transcription of results.

    Which results, and where to answer:

    { $link }

    Your results stay as you sent them.

figure-density-title = Density of the results for { $measurand }, in { $unit }
figure-density-note = Gaussian kernels with a standard deviation of { $bandwidth }. A tick for each result; short and thin: left out. Upright line: assigned value.
figure-density-outside = Outside: { $count }.
figure-density-caption = { $count ->
    [one] One result that counts
   *[other] { $count } results that count
}; { $modes ->
    [one] one mode, at { $places } { $unit }
   *[other] { $modes } modes, at { $places } { $unit }
}.
figure-strip-title = Results of { $code } over the medians of all laboratories
figure-strip-note = Each mark is a result over the median of all laboratories, on a logarithmic scale. Square: a finding is about it.
figure-strip-elsewhere = Ring: over the median of the place where it fits better.
figure-strip-caption = { $code }: { $count } results over the medians of all laboratories, { $marked } of them with a finding.
