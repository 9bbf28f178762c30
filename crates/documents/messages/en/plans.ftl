# The plan of a round: checklist, versions, signatures, amendments, forecast.

# The plan of a measurand
plan-by-count = Participants
plan-by-count-hint = consensus by the number that counts: Algorithm A from 18 results, Q/Hampel from 12, the median from 8; none below
plan-named = Participants, by an estimator that is named
plan-q-hampel = Participants, by the Q method and Hampel's estimator
plan-q-hampel-hint = withstands many outliers; for 12 results or more
plan-median-niqr = Participants, by the median and the interquartile range
plan-median-niqr-hint = with the normalised interquartile range; for 8 results or more
plan-fallback = The value beside a consensus
plan-fallback-hint = Only for a consensus of participants: where too few results come for one, the value above is used instead. Say what it rests on.
plan-fallback-none = There is none
plan-details = Score that decides, results below a limit, limits of the classes
plan-decides = The score that gives the class
plan-decides-word-z = z
plan-decides-z-hint = z', marked as qualified, where the uncertainty of the assigned value is not negligible
plan-decides-word-e-n = E_n
plan-decides-e-n-hint = for calibrations: needs a value from outside the round, and the uncertainty of every result
plan-decides-word-zeta = zeta
plan-decides-zeta-hint = needs the uncertainty of every result
plan-censored = Results below a limit, in a consensus
plan-censored-exclude = They are left out
plan-censored-exclude-hint = right while they are few, up to 5 %
plan-censored-aware = They count by their ranks
plan-censored-aware-hint = where that gives one answer
plan-limits = Limits of the classes
plan-limits-hint = Empty: 2, 3 and 1, as ISO 13528 has them. Other limits need a reason, which is printed.
plan-limit-warning = Questionable above |z| of
plan-limit-action = Unacceptable from |z| of
plan-limit-e-n = Unacceptable from |Eₙ| of
plan-limits-reason = Why other limits
plan-apply = Apply to
plan-apply-hint = Route, estimator, standard deviation, score, limits and the rule for results below a limit are taken over; assigned values and their uncertainties stay each measurand's own. Absent analytes, and measurands that still lack the value the route needs, are left as they are.
plan-apply-one = this measurand only
plan-apply-item = all measurands of item { $item }
plan-apply-all = all measurands of the round
plan-apply-wide = The plan does not fit { $name }: twice the standard deviation is as much as its assigned value. Apply it to fewer, or give the standard deviation in percent.
plan-apply-horwitz = The plan does not fit { $name }: its unit is not a mass fraction, so the Horwitz function cannot be used.
plan-apply-unfit = The plan does not fit { $name }. Apply it to fewer measurands.
done-plan-applied = Saved, and applied to the others.
event-plan-applied = { $detail ->
    [one] It was applied to one more measurand
   *[other] It was applied to { $detail } more measurands
}
assigned-template-hint = One plan can be the template of many: open a measurand, fill its plan in, and choose below it to which others it is applied.
field-fallback-route = The value beside a consensus
field-decides = The score that gives the class
field-censored = Results below a limit
field-limit-warning = Questionable above
field-limit-action = Unacceptable from
field-limit-e-n = Unacceptable from |Eₙ|
field-limits-reason = Why other limits
field-apply = Apply to

route-by-count = participants, by number
route-q-hampel = participants, Q/Hampel
route-median-niqr = participants, median and nIQR
route-else = { $route }; else { $fallback }
plan-decides-e-n = E_n decides
plan-decides-zeta = zeta decides
plan-censored-by-rank = results below a limit count by rank
plan-limits-are = limits { $warning } and { $action } for z, { $e_n } for E_n
plan-limits-because = { $limits }: { $reason }
plan-absent-proven = proven below { $limit }
plan-line-value = x { $value }, u { $u }
plan-line-sigma = standard deviation { $sigma }

plan-fallback-unsaid = A value stands beside the consensus, and nothing says what it rests on. Choose it, or empty the value and its uncertainty.
plan-en-consensus = E_n needs an assigned value that does not come from the participants. Let z or zeta decide, or give a value.
plan-score-needs-uncertainty = { $score ->
    [e_n] E_n
   *[zeta] zeta
} needs the uncertainty of every result, and this round does not ask for it. Ask for it on the page “What is asked”, or let z decide.
plan-limits-order = The limit { $warning } for questionable is not below the limit { $action } for unacceptable. Exchange them, or give others.
plan-warn-wide = The standard deviation is { $percent } % of the assigned value: from a third on, no result, however low, is unacceptable.
plan-warn-few = { $expected ->
    [one] One independent organisation is enrolled
   *[other] { $expected } independent organisations are enrolled
}; a consensus needs { $least }, and there is no value to fall back on.
plan-warn-qualified = The uncertainty of the value is { $ratio } of the standard deviation: above 0.3, so z' is used and marked as qualified.
plan-warn-uncertain = The uncertainty of the value is { $ratio } of the standard deviation: above 0.5, so no class is given.
problem-file-fallback = “{ $seen }” is not what a fallback can rest on. Write formulation, reference or expert, or leave the cell empty.
problem-file-fallback-alone = A fallback stands beside a consensus only. Write an estimator under route, such as by_count, or empty the cell.

# What every result must have
asks-uncertainty = Every value needs its expanded uncertainty and coverage factor; a round in which E_n or zeta decides cannot do without
result-uncertainty-asked = This round asks for the expanded uncertainty of every value. Type it.
result-factor-asked = This round asks for the coverage factor of every uncertainty. Type k.

# The plan of a round
plan-link = Plan
round-plan-title = Plan of round { $code }
plan-is-unfrozen = The plan is not frozen yet. Before the round can open, one person freezes and signs it, and a second person signs it too.
plan-is-outdated = The round has been changed since version { $version } was frozen, so that version no longer counts. Freeze and sign a new one.
plan-is-unsigned = Version { $version } is frozen and waits for the signature of a second person.
plan-is-signed = Version { $version } is signed by two persons. The round can open with it.
plan-is-in-force = The round is run by version { $version }.
plan-is-proposed = Version { $version } is an amendment that waits for the signature of a second person. Until then nothing changes.
plan-is-none = This round was opened before plans were frozen, so it has none.
plan-points = Before the plan can be frozen
plan-open-headings = { $count ->
    [one] One heading of the checklist has no text.
   *[other] { $count } headings of the checklist have no text.
}
plan-warnings = Worth a second look
plan-warnings-hint = None of this keeps the plan from being frozen.
plan-look-at-it = Look at it
plan-freeze = Freeze the plan
plan-freeze-lead = Version { $version } fixes everything that the round says now. A change afterwards makes it count no more, and a new version has to be frozen and signed.
plan-freeze-button = Freeze version { $version } and sign it
plan-statement-author = I, { $name }, made this plan and answer for it.
plan-statement-second = I, { $name }, have read version { $version } and agree that the round is run by it.
plan-statement-second-amendment = I, { $name }, have read version { $version } and agree that the plan is amended so.
plan-sign-button = Sign version { $version }
plan-read-and-sign = Read and sign version { $version }
plan-sign-not-author = You froze this version. Another person of the organiser's staff has to sign it.
plan-sign-reviewer = Results were in when this amendment was proposed, so a reviewer has to sign it.
sign-password = Your password
sign-password-hint = A signature asks for it again.
plan-versions = Versions
plan-version = Version { $version }
plan-state-unsigned = waits for the second signature
plan-state-signed = signed by two persons
plan-state-in-force = in force
plan-state-proposed = proposed
plan-state-outdated = outdated: the round says something else now
plan-state-replaced = replaced by a newer version
plan-state-withdrawn = withdrawn
plan-withdrawn-at = Withdrawn by { $name } on { $at }. It never took effect.
plan-json = Frozen text (JSON)
plan-duty-organiser = organiser
plan-duty-statistician = statistician
plan-duty-reviewer = technical reviewer
plan-meaning-author = made this plan and answers for it
plan-meaning-second = has read it and agrees that the round is run by it
plan-meaning-author-amendment = proposed this amendment and answers for it
plan-meaning-second-amendment = has read it and agrees that the plan is amended so
plan-document-title = Plan of round { $code }, version { $version }
plan-signatures = Signatures
plan-frozen-at = Frozen
plan-file = Frozen text
plan-file-hint = The hash is over this file, byte for byte:
plan-round = The round
plan-provider = Provider
plan-zone = Time zone
plan-measurands = Measurands and their statistical plans
plan-asked = Asked
plan-sigma-short = Standard deviation
plan-row-digits = { $decimals ->
    [one] 1 decimal
   *[other] { $decimals } decimals
}, { $replicates ->
    [one] 1 value
   *[other] up to { $replicates } values
}
plan-row-basis = as { $basis }
plan-row-loq = LOQ at most { $loq }
plan-rules = Rules that decide where a number has to be judged
plan-rules-hint = With the values that this service uses. What a measurand's own plan says goes before.
plan-asks-arrival-nothing = Nothing is asked about the arrival of the items.
plan-asks-arrival-dates = Date and condition of the items are asked when they arrive.
plan-asks-arrival-codes = Date and condition of the items are asked when they arrive, and the code on each label.
plan-asks-method = Closed questions on the method are asked, and basis and recovery for each analyte.
plan-asks-uncertainty = Every value needs its expanded uncertainty and coverage factor.
plan-asks-performance = Evidence of the performance of the method is asked.
plan-asks-declaration = Laboratories declare that the results are their own.
plan-asks-self-check = Before sending, questions are asked about a laboratory's own numbers.
plan-asks-no-self-check = No questions are asked about a laboratory's own numbers.
plan-asks-precision-iso = The round is a study of the precision of a method by the protocol { $protocol }; outlying laboratories are found by ISO 5725-2, at 5 % and 1 %.
plan-asks-precision-harmonised = The round is a study of the precision of a method by the protocol { $protocol }; outlying laboratories are found by the harmonised protocol, at 2.5 %.
plan-asks-span = Published span of the contents: { $from } to { $to } { $unit }.
done-plan-frozen = The plan is frozen, with your signature. A second person has to sign it.
done-plan-signed = The plan is signed by two persons.
conflict-plan-open = The plan cannot be frozen yet. Its page lists what is still to be done.
conflict-plan-frozen = The newest version of the plan says the same already.
conflict-plan-newer = There is a newer version of the plan, or this one was withdrawn. Look at it first.
conflict-plan-signed = This version has its second signature already.
conflict-plan-author = You froze this version. Another person of the organiser's staff has to sign it.
conflict-plan-reviewer = Results were in when this amendment was proposed, so a reviewer has to sign it.
conflict-plan-outdated = The round says something else by now than this version of the plan. Freeze a new version.
conflict-plan-unsigned = The plan of this round is not frozen and signed by two persons as it stands. Freeze and sign it on the page of the plan; programs cannot sign.
event-checklist-saved = { $detail ->
    [0] The checklist of the plan was saved; every heading has its text
   *[other] The checklist of the plan was saved; headings without a text: { $detail }
}
event-plan-frozen = Version { $detail } of the plan was frozen and signed by its author
event-plan-signed = Version { $detail } of the plan was signed by a second person
check-plan-link = Plan
check-plan-done = The plan is frozen and signed by two persons.
check-plan-unfrozen = The plan is not frozen yet.
check-plan-outdated = The round was changed after its plan was frozen: freeze and sign a new version.
check-plan-unsigned = The plan waits for the signature of a second person.
next-plan = Freeze and sign the plan
next-sign = Let a second person sign the plan

# The checklist
plan-checklist = Checklist of the plan
checklist-lead = What ISO/IEC 17043 wants a plan to say. Where a heading does not apply, write “not applicable” and why.
checklist-filled = { $filled } of { $of } headings have a text.
checklist-suggest = Take the suggested texts for empty fields
checklist-suggested = { $count ->
    [0] There is nothing to suggest: the fields have texts, or the round does not say enough yet.
    [one] One field was filled from what the round says. Nothing is saved yet: read it, change it, and save.
   *[other] { $count } fields were filled from what the round says. Nothing is saved yet: read them, change them, and save.
}
checklist-is-suggested = Suggested from what the round says; not saved yet.
checklist-empty = No text yet.
checklist-reason-missing = This says that the heading does not apply, and not why. Add the reason.
checklist-provider = Provider and coordinator
checklist-provider-hint = Name and address of the provider; the coordinator and others who plan and run the round.
checklist-external = External activities
checklist-external-hint = Which steps are done by others, and who they are.
checklist-criteria = Criteria for participation
checklist-criteria-hint = Who may take part.
checklist-expected = Expected participants
checklist-expected-hint = How many, and of which kind.
checklist-measurands = Measurands and span of values
checklist-measurands-hint = What is measured in what, and between which contents.
checklist-errors = Major sources of error
checklist-errors-hint = What commonly goes wrong with these measurands.
checklist-production = Production and quality control of the items
checklist-production-hint = How the items are made, checked, stored and sent.
checklist-collusion = Precautions against collusion and falsification
checklist-collusion-hint = What keeps laboratories from agreeing on results.
checklist-timetable = Information and timetable
checklist-timetable-hint = What participants are told and when; dates of dispatch, deadline and report.
checklist-methods = Methods allowed
checklist-methods-hint = Free choice, or a prescribed method.
checklist-homogeneity = Homogeneity and stability
checklist-homogeneity-hint = How both are tested, and what is done with the outcome.
checklist-reporting = Reporting format
checklist-reporting-hint = How participants report: values, units, digits, uncertainty, results below a limit.
checklist-statistics = Statistics
checklist-statistics-hint = How assigned values, standard deviations and scores are found.
checklist-traceability = Traceability and uncertainty of the assigned values
checklist-traceability-hint = To what they trace, and how their uncertainty is found.
checklist-evaluation = Criteria of evaluation
checklist-evaluation-hint = What counts as acceptable, questionable, unacceptable.
checklist-returned = What participants get back
checklist-returned-hint = Reports, certificates, data.
checklist-publicity = How far results become public
checklist-publicity-hint = Who sees what, and under which name.
checklist-damage = Items lost or damaged
checklist-damage-hint = What is done then.
checklist-suggest-provider = { $provider }, { $contact }. Coordinator: { $person }.
checklist-suggest-expected = { $count ->
    [one] One laboratory is enrolled
   *[other] { $count } laboratories are enrolled
}, of { $organisations ->
    [one] one independent organisation
   *[other] { $organisations } independent organisations
}.
checklist-suggest-measurands = { $count ->
    [one] One measurand
   *[other] { $count } measurands
} in the items { $items }: { $list }.
checklist-suggest-collusion = Every laboratory has a code drawn at random for this round. { $labels ->
    [yes] Every unit of an item has a code of its own, which is asked for.
   *[no] The instructions ask laboratories not to compare results.
}{ $declared ->
    [yes] {" "}Laboratories declare that the results are their own.
   *[no] {""}
} Assigned values are sealed when the round opens.
checklist-suggest-timetable = Deadline for results: { $deadline }. Questions are answered to all participants. A later deadline is one for all.
checklist-suggest-methods = Laboratories use their routine methods.{ $asked ->
    [yes] {" "}Closed questions on the method are answered with the results.
   *[no] {""}
}
checklist-suggest-reporting = Results are entered on the pages of this service, by paste or by file, for { $items ->
    [one] one item
   *[other] { $items } items
}, in the unit of each measurand or one converted to it; a content below the limit of quantification as < and the limit. { $uncertainty ->
    [yes] Every value needs its expanded uncertainty and coverage factor.
   *[no] Expanded uncertainty and coverage factor are asked for.
}
checklist-suggest-statistics = Assigned values: { $routes }. Standard deviation for proficiency assessment: { $sigmas }. Estimators, scores and rules as in the statistical plan of each measurand and the list of rules of this plan.
checklist-suggest-prescribed = prescribed for the measurand
checklist-suggest-traceability-given = Assigned values from formulation, reference or expert laboratories have their uncertainty stated with each value.
checklist-suggest-traceability-consensus = A consensus of participants is not traceable by itself; its uncertainty is 1.25 s*/√p.
checklist-suggest-evaluation = The class is given by the score and the limits that the plan of each measurand names; by default z with the limits 2 and 3. Where the uncertainty of the assigned value is not negligible, z' is used and marked, or no class is given.
checklist-suggest-returned = Scores and figures on the pages of the round, a certificate as PDF, and the data package from which the evaluation can be recomputed.
checklist-suggest-publicity = Results appear under codes only. Each laboratory sees which code is its own; measurands that fewer than 5 laboratories reported are not shown to others.
done-checklist-saved = The checklist is saved.

# Amendments
amend-link = Amend
amend-title = Amend the plan of round { $code }
amend-lead = The plan of an open round is not edited. A change is proposed with its reason, and takes effect when a second person has signed it.
amend-results = { $count ->
    [0] No laboratory had sent results when it was proposed.
    [one] One laboratory had sent results when it was proposed.
   *[other] { $count } laboratories had sent results when it was proposed.
}
amend-results-now = { $count ->
    [0] No laboratory has sent results yet.
    [one] One laboratory has sent results.
   *[other] { $count } laboratories have sent results.
}
amend-needs-reviewer = So a reviewer has to sign what is proposed now.
amend-waiting = An amendment waits for its second signature. It has to be signed or withdrawn before another can be proposed:
amend-deadline = Later deadline for all
amend-deadline-now = The deadline is { $deadline }.
amend-deadline-hint = It can be moved later, for all laboratories alike, and never earlier. All are told by mail at the same time, with the reason.
amend-deadline-not = It cannot be moved now.
amend-day = New deadline, day
amend-time = Time ({ $zone })
amend-reason = Reason
amend-reason-public = All participants read it. Name no laboratory and no content of an item.
amend-reason-hint = It is printed with the amendment.
amend-statement = I, { $name }, propose this amendment and answer for it.
amend-deadline-button = Propose the later deadline and sign it
amend-statistics = Statistical plan of a measurand
amend-statistics-hint = Choose the measurand. Participants are not told what its assigned value is; evaluations made before no longer count.
amend-statistics-not = It cannot be amended now.
amend-plan-now = Plan now
amend-measurand-title = Amend the plan: { $analyte }, item { $item }
amend-plan-is = Now: { $plan }.
amend-statistics-button = Propose the amendment and sign it
amend-heading = Amendment
amend-what = Change
amend-before = Before
amend-after = After
amend-in = Results
amend-withdraw = Withdraw this amendment
amend-line-deadline = Later deadline for all: { $deadline }
amend-line-statistics = Statistical plan of { $name }
amend-deadline-earlier = { $seen } is not later than the deadline that was promised. A deadline only moves later.
amend-nothing = This is the plan as it is. Change something of it.
done-amendment-proposed = The amendment is proposed, with your signature. It takes effect when a second person has signed it.
done-amendment-signed = The amendment is signed and in effect.
done-amendment-withdrawn = The amendment is withdrawn.
conflict-amend-draft = The round is not open yet: change it, and freeze its plan anew.
conflict-amend-late = The state of the round no longer allows this amendment.
conflict-amend-waiting = Another amendment waits for its second signature. Sign or withdraw it first.
conflict-amend-not-waiting = This amendment does not wait for a signature any more, so it cannot be withdrawn.
event-amendment-proposed = An amendment was proposed: version { $detail } of the plan
event-amendment-signed = An amendment took effect: version { $detail } of the plan
event-amendment-withdrawn = An amendment was withdrawn: version { $detail } of the plan
moved-heading = Later deadline for all.
moved-deadline = It was { $from }; it is { $to }.
moved-reason = Reason: { $reason }
moved-at = Announced { $at }.

# Sealed assigned values
sealed-heading = Sealed assigned values
sealed-link = Sealed values
sealed-lead = The assigned values that do not come from the participants were fixed before results came in. This number seals them:
sealed-published = The sealed values are open now, and you can check them against the number that was shown from the beginning:
sealed-more-link = What this is
sealed-check-link = Check them
sealed-title = Sealed assigned values of round { $code }
sealed-what = When the round was opened, the assigned values that do not come from the participants were written into one text, with a random number so that nobody can guess it. The SHA-256 of the text is shown from then on; the text itself after publication. So everybody can check that no value was adapted to the results.
sealed-at = Sealed
sealed-later = The text is shown here when the round is published. Keep the number, or look at it in your own time, to be sure that it stays the same.
sealed-check = How to check them
sealed-step-download = Download the text:
sealed-step-run = Run:
sealed-step-compare = The number must be the one above, and the one that you have seen while the round was open.
sealed-after = A value that was amended later differs from the sealed one; the amendment says why. The seal stays as it was.
sealed-text = The text
sealed-text-hint = The file is this text without a line break at its end.

# Forecast
forecast-link = Forecast
forecast-title = Forecast for round { $code }
forecast-lead = What the scores can be expected to be, before anything is known of the results: from the number of independent results and how far laboratories spread against the standard deviation for proficiency assessment.
forecast-results = Results expected
forecast-results-hint = { $count ->
    [one] One independent organisation is enrolled.
   *[other] { $count } independent organisations are enrolled.
}
forecast-ratio = s*/σₚₜ assumed
forecast-ratio-hint = Where no earlier round tells; 0.8 if nothing is known.
forecast-button = Show
forecast-earlier = The spread of laboratories is taken from round { $code } of the same scheme, where it had the measurand.
forecast-from-round = from { $code }
forecast-assumed = assumed
forecast-needed = p needed for z
forecast-consensus = A consensus gives
forecast-planned = As planned
forecast-q = u/σ { $q }
forecast-no-plan = no plan yet
forecast-absent = absent: no score
forecast-unknown = depends on the value
forecast-z = z
forecast-qualified = z', qualified
forecast-information = information only
forecast-none = no consensus
forecast-fallback = the fallback
forecast-needs = How many results z needs
forecast-needs-hint = The uncertainty of a consensus is 1.25 s*/√p. It is negligible while it is at most 0.3 of the standard deviation for proficiency assessment, and a consensus needs 8 results whatever the spread.
forecast-ratio-large = A ratio above { $most } is not plausible. Give a smaller one.
field-results = Results expected
field-ratio = s*/σₚₜ assumed

# Rules
rule-d1 = Limits: |z| up to { $warning } acceptable, above it questionable, from { $action } unacceptable; the class follows the score before it is rounded for showing.
rule-d2 = The standard deviation for proficiency assessment comes, in this order, from a requirement, from expert judgement, from earlier rounds, from a general model, from a precision study; never from results of the same round without being said so.
rule-d3 = zeta has the limits of z and is information, unless the plan lets it decide. |Eₙ| below { $limit } is acceptable; U is taken at k = { $k }; xₚₜ must not come from the participants.
rule-d4 = z while u(xₚₜ) is at most { $z } of the standard deviation; above it z', marked as qualified; above { $none } no class.
rule-d5 = The standard uncertainty of a consensus is { $factor } s*/√p.
rule-d6 = The uncertainty of a formulation or reference value is a full budget and never zero.
rule-d7 = By number: Algorithm A from { $algorithm_a } results, Q/Hampel from { $q_hampel }, the median with MADe from { $median }.
rule-d8 = No consensus below { $least } results; below { $consent } only with a reviewer's consent.
rule-d9 = One result of an organisation counts in a consensus, and none that came late; all are scored.
rule-d10 = Results below a limit: left out up to { $omit } %; by ranks where planned; consensus as information from { $information } %; none from { $none } %.
rule-d11 = Near the limit of quantification: xₚₜ below { $factor } times the median limit is pointed out.
rule-d12 = A result below a limit L is judged by (L − xₚₜ)/σₚₜ: up to { $action } unacceptable, up to { $warning } questionable, above it not in contradiction.
rule-d13 = Where the analyte is absent, a value from the required limit of quantification on, or from { $factor } times the proven limit, is a false positive.
rule-d14 = U(xₚₜ) has { $uncertainty } significant digits, xₚₜ the same place and at least { $value }, a computed standard deviation { $sigma }; scores are computed from the published numbers.
rule-d15 = A linear score is refused where { $refused } σₚₜ reach xₚₜ, and warned of where { $warned } σₚₜ do.
rule-d16 = Scores on a logarithmic scale only by plan, from a relative standard deviation of { $percent } % on.
rule-d17 = Of several values of a result the mean is scored.
rule-d18 = Uncertainties of participants are compared with u(xₚₜ) and { $factor } s*; that is never a penalty.
rule-d19 = Questions before sending depend on a laboratory's own numbers and on what is published to all.
rule-d20 = A result may be kept, left out of the summary and scored all the same, invalid, or withdrawn; a reported number is never changed. Results beyond ± { $percent } % of the centre are listed for review.
rule-d21 = A whole set is pointed out as consistent with a power of ten: median within { $near }, spread at most { $spread }, at least { $least } results.
rule-d22 = A single result is pointed out from |z| { $score } on, if a factor explains it within { $near }.
rule-d23 = Exchanged items are pointed out with at least { $least } analytes, if exchanging leaves less than { $explained } of the contrast.
rule-d24 = Exchanged analytes are pointed out if exchanging leaves less than { $explained }, shifted rows if less than { $shift } is left.
rule-d25 = More than one mode is looked for from { $least } results on, with a bandwidth of { $bandwidth } σₚₜ and { $sets } resampled sets.
rule-d26 = Consensus and independent value are compared: beyond { $factor } u(d) with a comment, beyond { $sigma } σₚₜ a reviewer decides.
rule-d27 = Similar sets of two codes are compared with at least { $cells } shared results, at { $rate } % false discoveries; for reviewer and statistician only.
rule-d28 = Skew is pointed out above { $skew } with at least { $least } results.
rule-d29 = Homogeneity: { $units } units with two values in random order; the standard deviation between units at most { $sigma } σₚₜ, or the expanded criterion.
rule-d30 = An item in which laboratories spread more than { $factor } times as wide as in its sister item is looked at again.
rule-d31 = A change over the test period of more than { $sigma } σₚₜ with the day of analysis is pointed out as possible instability.
rule-d32 = Stability: a change of at most { $sigma } σₚₜ, or within the expanded criterion; otherwise it is decided what follows.
rule-d33 = A late result is taken up to { $hours } hours after the deadline while the round is open; it is in no consensus, is scored, and is marked.
rule-d34 = A laboratory's correction after closing is not accepted.
rule-d35 = Trial evaluations are logged and counted; published is what was planned, or what an amendment planned that a reviewer agreed to.
rule-d36 = Open data leave out whatever fewer than { $least } laboratories share.
rule-d37 = Trends over rounds are shown to a laboratory as a place to look, never as a class.
rule-d38 = Follow-up is the laboratory's own duty; nothing is asked by default.
rule-d39 = HorRat between { $from } and { $to } is usual; it is no proof of quality.
rule-d40 = A reviewer looks at every decision, at q above the limit, at items that did not plainly pass, at late results, at amendments, and where more than { $scores } % of the scores of a measurand or { $laboratory } % of a laboratory's are unacceptable.

asks-precision-legend = Precision of a method
asks-precision = Study of precision
asks-precision-hint = The report then says how precise the method is (ISO 5725-2), with every test. It needs a method that all laboratories follow, and two values or more of each item.
asks-precision-none = No
asks-precision-iso = Yes, outlying laboratories by ISO 5725-2: stragglers at 5 %, outliers at 1 %
asks-precision-harmonised = Yes, outlying laboratories by the harmonised protocol: outliers at 2.5 %
asks-protocol = Protocol of the method
asks-protocol-hint = Its name, number and edition, as the report prints it.
