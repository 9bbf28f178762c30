# Trials, approval, publication, corrections, complaints and appeals.

# Trials
trials-link = Trials
trials-title = Trials on round { $code }
trials-text = Change something on a copy of evaluation { $version } and see what becomes of the scores. Nothing of it can be published: only what the plan says, or an amended plan that a reviewer signed. Each trial is kept, and the report says how many there were.
trials-none = None yet.
trials-made = { $count ->
    [0] No trial was made
    [one] One trial was made
   *[other] { $count } trials were made
}
trial-title = A trial on round { $code }
trial-measurand = Measurand
trial-all = all measurands
trial-as-planned = as in the evaluation
trial-value = Assigned value
trial-value-by_count = consensus, estimator by count
trial-value-algorithm_a = consensus, Algorithm A
trial-value-q_hampel = consensus, Q method with Hampel’s location
trial-value-median_made = consensus, median with MADe
trial-value-median_niqr = consensus, median with nIQR
trial-value-mean = consensus, mean and standard deviation
trial-value-fallback = the value planned beside the consensus
trial-value-given = a value that I give
trial-value-missing = Choose where the assigned value comes from.
trial-given-value = Value
trial-given-hint = For a value that you give, in the unit of the measurand.
trial-given-uncertainty = Its standard uncertainty
trial-given = given { $value }, u { $uncertainty }
trial-sigma = σₚₜ
trial-sigma-percent = in percent of the assigned value
trial-sigma-prescribed = in the unit of the measurand
trial-sigma-participants = spread of the participants
trial-sigma-number = Number of σₚₜ
trial-sigma-is-percent = σₚₜ { $number } %
trial-sigma-is = σₚₜ { $number }
trial-censored = Results below a limit
trial-censored-exclude = left out of the consensus
trial-censored-limit_aware = counted by their ranks
trial-leave-out = Codes to leave out
trial-take-back = Codes to take back in
trial-codes-hint = Codes of laboratories, apart by spaces or commas.
trial-left-out = left out { $codes }
trial-taken-back = taken back { $codes }
trial-button = Try it
trial-outcome = { $measurands ->
    [0] no number changes
    [one] numbers of one measurand change
   *[other] numbers of { $measurands } measurands change
}, { $classes ->
    [0] no class
    [one] one class
   *[other] { $classes } classes
}
trial-on-version = on evaluation { $version }
trial-never-published = This is a trial: it cannot be published.
trial-scores-tried = Scores in the trial
trial-scores-planned = Scores in the evaluation
trial-again = Try something else
trial-nothing = Choose something to change: this trial would be the evaluation itself.
trial-measurand-unknown = { $seen } is no measurand of this round. Choose one of the list.
trial-code-unknown = { $seen } reported no result in this round. Compare it with the list of results.
event-trial-made = A trial was made: { $detail }

# Effects
effect-numbers = Numbers before and after
effect-classes = Classes that change
effect-no-class = No class changes.
effect-before = before
effect-after = after

# Approval
approval-link = Review and approval
approval-title = Approval of round { $code }
approval-state = { $approved } of { $of } measurands are approved.
approval-returned = { $count ->
    [one] One is returned.
   *[other] { $count } are returned.
}
approval-stale = Decisions were made that this evaluation does not hold. It has to be made again before anything of it is published.
approval-involved = You decided or evaluated in this round. Somebody who edited nothing has to approve it.
approval-correction = A correction is open: { $reason }
approval-evaluation = Evaluation
approval-again = Made again
approval-again-same = { $at }, { $by }, { $engine }: the same to the last digit
approval-again-differs = { $at }, { $by }, { $engine }: it differs
approval-again-never = not yet; it is before the first approval
approval-recompute = Make it again and compare
approval-trials = Trials
approval-trials-count = { $count ->
    [0] none
    [one] one
   *[other] { $count }
}
approval-measurands = Measurands
approval-measurand = Measurand
approval-choose = Choose
approval-standing = State
approval-standing-open = not approved yet
approval-standing-approved = approved
approval-standing-changed = changed since it was approved
approval-standing-returned = returned
approval-said-approved = Approved with a remark
approval-said-returned = Returned
approval-answered = Answer of { $by }, { $at }:
approval-unanswered = No answer yet.
approval-answer = Answer to the finding
approval-answer-button = Answer
approval-say = Your verdict
approval-finding = Finding or remark
approval-finding-hint = A return needs a finding, which is answered. With an approval it is a remark. Both stay on record.
approval-approve = Approve those ticked
approval-return = Return those ticked
approval-approve-all = Approve all that are open
approval-hint = An approval is of exactly what stands here. It holds in a newer evaluation for every measurand in which nothing changed. What was returned is approved by ticking it.
approval-none-chosen = Tick the measurands that you mean.
conflict-own-work = You decided or evaluated in this round. Nobody approves their own work.
conflict-recomputed-differs = Making this evaluation again gave other numbers. Nothing was approved. The page of approval shows where it differs; evaluate again, and report it to whoever runs this service.
conflict-answered = This finding was answered meanwhile. Load the page again.
conflict-not-approved = Not all measurands are approved. A reviewer approves them on the page of approval.
done-approved = Approved.
done-returned = Returned, with the finding.
done-finding-answered = The answer is on record.
done-recomputed-same = The evaluation was made again and is the same to the last digit.
done-recomputed-differs = The evaluation was made again and differs: see below.
event-measurands-approved = Measurands approved (evaluation): { $detail }
event-measurands-returned = Measurands returned (evaluation): { $detail }
event-finding-answered = A finding was answered { $detail }
event-evaluation-recomputed = Evaluation made again to compare: { $detail }

# Publication
password-again = Your password
password-again-hint = Asked for once more, because this cannot be taken back.
password-wrong = This is not your password. Type it again.
publish-meaning = What this means
publish-meaning-hint = In your words, for the report: “Released as final after review.”
publish-unapproved = { $count ->
    [one] One measurand is not approved yet.
   *[other] { $count } measurands are not approved yet.
}
publish-title-correction = Publish the correction of { $code }
publish-because = Because: { $reason }
publish-impact = { $classes ->
    [0] No class changes
    [one] One class changes
   *[other] { $classes } classes change
}, for { $codes ->
    [0] no code.
    [one] one code.
   *[other] { $codes } codes.
}
publish-supersedes = What was published before stays readable, marked as superseded, and everybody who had it is told.

# Corrections
corrections-link = Publications and corrections
corrections-title = What was published of { $code }
corrections-text = What was published is never edited. A correction is a publication of its own that names its reason, and the one before is marked as superseded.
corrections-none-listed = Published before versions were kept.
publication-number = Version { $number }
publication-superseded = superseded by version { $number }
publication-reason = Reason: { $reason }
publication-notified = { $count ->
    [0] No message by mail went out.
    [one] One person was written to.
   *[other] { $count } people were written to.
}
correction-is-open-heading = A correction is open
correction-since = Since { $at }, by { $by }.
correction-steps = What is published stands until the correction is: decide on the results concerned, evaluate again, have it approved, publish it.
version-taken-heading = Evaluation corrected
version-taken = On { $day } a corrected evaluation, version { $number }, took the place of version { $before }.
version-taken-now = The scores that hold
correction-opened = { $at }, { $by }
correction-open-heading = Open a correction
correction-open-text = The round is then decided on and evaluated again. What is published stays until the correction is approved and published.
correction-reason = Reason
correction-reason-hint = It is printed with the corrected version.
correction-open-button = Open the correction
correction-give-up = Give the correction up
correction-is-open = A correction is open already. Publish it or give it up first.
conflict-not-published = This round is not published, so there is nothing to correct.
conflict-no-correction = No correction is open.
done-correction-opened = The correction is open: decide and evaluate again.
done-correction-given-up = The correction is given up; what is published stands.
event-correction-opened = Correction opened: { $detail }
event-correction-given-up = Correction given up: { $detail }
event-round-corrected = Correction published, evaluation { $detail }
impact-heading = What the correction changes
impact-text = Against what is published: { $classes ->
    [0] no class changes
    [one] one class changes
   *[other] { $classes } classes change
}, for { $codes ->
    [0] no code.
    [one] one code.
   *[other] { $codes } codes.
}
scores-version = Version { $number }, corrected. Reason: { $reason }
version-superseded = You read version { $number }, which does not hold any more: it was superseded by version { $by } on { $day }.
version-current-link = Version { $number }, which holds
version-earlier-link = Version { $number }, superseded
scores-superseded-link = Certificate of version { $number }, superseded
scores-under-appeal = Your appeal against this evaluation is under way. The certificate stays as it is until it is decided.

# Complaints and appeals
cases-link = Complaints and appeals
cases-title = Complaints and appeals, { $code }
cases-text = An appeal is against an evaluation, a complaint is about anything else. Somebody who had no part in the work looks into it; you are told what is decided and why. What you sent is never changed by it.
cases-text-staff = Each is acknowledged at once, looked into by somebody who had no part in the work, decided by a reviewer who had none either, answered and closed.
cases-none = You have sent none.
cases-none-staff = None was received.
case-new = Send one
case-new-anonymous = An anonymous complaint
case-kind = Kind
case-kind-appeal = Appeal
case-kind-appeal-hint = Against an evaluation of your results.
case-kind-complaint = Complaint
case-kind-complaint-hint = About items, dispatch, instructions, this service, or anything else.
case-kind-missing = Choose an appeal or a complaint.
case-appeal-anonymous = An appeal comes from a laboratory that was evaluated: it sends it itself.
case-appeal-early = There is nothing to appeal against before scores are published. Send a complaint.
case-subject = What it is about
case-statement = What you have to say
case-statement-hint = With the evidence that you have. Name no other laboratory.
case-send = Send
case-anonymous = anonymous
case-overdue = overdue
case-numbers-stay = What the laboratory sent is not changed by a complaint or an appeal.
case-state-acknowledged = received and acknowledged
case-state-investigated = being looked into
case-state-closed = closed, { $outcome }
case-outcome = Outcome
case-outcome-upheld = upheld
case-outcome-partly = upheld in part
case-outcome-rejected = rejected
case-outcome-missing = Choose the outcome.
case-next = Next step
case-step = Step
case-step-assigned = Name who looks into it
case-step-assigned-hint = Somebody who neither decided, evaluated, approved nor published in this round.
case-step-assigned-to = { $name } looks into it
case-step-investigated = What was found
case-step-investigated-hint = What was looked at, and what it shows.
case-step-decided = Decision
case-step-decided-hint = With its reason and the rule. It is told to the laboratory.
case-step-acted = What is done because of it
case-step-acted-hint = It is told to the laboratory.
case-step-answered = Answer to the laboratory
case-step-answered-hint = The laboratory reads it on its page.
case-step-closed = Close it
case-step-closed-hint = Nothing is left to do.
case-step-statement = Text
case-step-statement-hint = Without the code or name of another laboratory.
case-step-button = Save this step
case-investigator = Who looks into it
case-investigator-hint = Only people who had no part in the round are offered.
case-person = { $name }, { $duty }
case-person-missing = Choose somebody who had no part in the round. If nobody is offered, invite somebody on the page of the staff.
case-not-investigator = Only the person who was named writes what was found.
case-not-decider = A reviewer who had no part in the round decides.
case-waits-assigned = The organiser names who looks into it.
case-waits-investigated = The person who was named writes what was found.
case-waits-decided = A reviewer who had no part in the round decides.
case-waits-acted = The organiser answers.
case-waits-answered = The organiser answers.
case-waits-closed = The organiser closes it.
conflict-case-step = This step does not come next. Load the page again.
conflict-case-number = Another one came at the same moment. Send it again.
done-case-received = Received and acknowledged. It stands below.
done-case-step = The step is on record.
event-case-received = A complaint or appeal was received: number { $detail }
event-case-step = Complaint or appeal { $detail }
