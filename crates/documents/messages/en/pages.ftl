# Texts of the pages.

# Every page
skip-to-content = Skip to the content
demonstration-data = Demonstration data
demonstration-footer = All organisations, people and numbers here are invented.
footer = Scores describe results on given items in one round; they are no accreditation. Where a law or an authority sets a criterion, that criterion and the authority's decision prevail.
nav-label = Main
nav-rounds = Rounds
nav-laboratory = { $name }, { $laboratory }
nav-sign-out = Sign out
title-error = { "Error: " }
back-button = Go back
back-to-round = Back to round { $code }
save-button = Save
actions = Actions
remove = Remove
remove-label = Remove { $name }
problem-of = { $name }: { $problem }
problems-heading = { $count ->
    [one] One thing needs a correction
   *[other] { $count } things need a correction
}

# Errors
error-not-found-title = There is no such page
error-not-found = The address is mistyped, the page was removed, or it is not open to this account.
error-role-title = This needs another role
error-role = Results are entered by laboratories. Sign in with an account of the laboratory.
error-forged-title = The form was not sent
error-forged = The form came from another site, or from a page of an earlier session. Go back, reload the page and send it again; what was typed is still there.
error-conflict-title = Not possible now
error-unreadable-title = The request could not be read
error-form-too-large = The form holds more than 512 kB. Shorten what was typed and send it again.
error-certificate-too-large = The file is larger than 1 MB, and no certificate is. Go back, and choose the PDF or the JSON file as it was downloaded.
error-upload-too-large = The file is larger than 1 MB. Split it and upload the parts one by one.
error-large-upload-too-large = The file is larger than 5 MB. Make the photo smaller, or let the logger write fewer readings.
error-upload-broken = The upload arrived incomplete, or was not sent by the form. Choose the file and upload it again.
error-form-kind = The request was not sent by a form of this service. Open the page and fill in its form.
error-form-fields = The form has a field that this page does not know. Reload the page and fill it in again.
error-fault-title = Something went wrong here
error-fault = The fault is ours, and nothing was changed. Try again in a moment; if it comes back, tell the organiser the number below.
error-request = Number of this fault:
error-method-title = Nothing to see here
error-method = This address only takes what a form sends.
error-go-on = Go to the rounds
error-go-round = Go to the round

conflict-not-draft = The round has been opened, so its design can no longer change.
conflict-not-ready = Something is still missing before the round can open. The round's page lists it.
conflict-before-deadline = The deadline is not over yet. Laboratories were promised the time until then.
conflict-not-open = The round is not open, so it cannot be closed.
conflict-not-closed = The round is not closed yet. Close it after the deadline first.
conflict-published = The round is published already. Its evaluation stands.
conflict-no-evaluation = There is no evaluation yet. Evaluate the round first.
conflict-newer-evaluation = There is a newer evaluation than the one that was shown. Look at it, then publish.
conflict-stale-evaluation = Decisions were made after the newest evaluation. Evaluate again, look at it, then publish.
conflict-item-in-use = The item has measurands. Remove them first.
conflict-invitation = This invitation was used already, replaced by a newer one, or is over. Ask the organiser for a new link, or sign in if the account exists.
conflict-closed = This round was closed on { $at }. Results can no longer be sent.
conflict-account-made = This address got an account a moment ago. Sign in with the password that was typed then.
conflict-unit-changed = The unit of your laboratory’s numbers is { $unit } now, and this page showed another. Nothing was changed: go back, copy what you typed, and load the page again.
conflict-proposal-unit = The unit of your laboratory’s numbers was changed after this was pasted or uploaded. Nothing was changed: paste or upload it again.
conflict-too-late = The deadline was { $at }, and more than 48 hours have passed. Results can no longer be sent.

# What has just been done
done-set-up = The installation is set up. The first round can be made now.
done-signed-out = Signed out.
done-welcome = The account is ready.
done-round-made = The round is made. The list shows what it needs before it can open.
done-round-saved = Saved.
done-round-opened = The round is open.
done-round-closed = The round is closed. No more results are taken.
done-item-added = The item is added.
done-item-removed = The item is removed.
done-measurand-added = The measurand is added.
done-measurand-removed = The measurand is removed.
done-measurands-imported = The file was taken as a whole: every line is in the list.
done-assigned-imported = The file was taken as a whole: the assigned values are in the list.
done-plan-saved = Saved.
done-laboratory-enrolled = The laboratory is enrolled under a random code.
done-laboratory-removed = The enrolment is ended.
done-laboratories-imported = The file was taken as a whole: every laboratory is enrolled under a random code.
done-draft-saved = Saved. Nothing has been sent yet.
done-not-restored = What was typed before signing in could not be saved: the round takes no results any more, the unit was changed meanwhile, or it is not yours.
done-restored = What was typed before signing in is saved. Nothing has been sent yet.
done-filled = Rows without any entry are marked as not analysed. Nothing has been sent yet.
done-sent = Your results were received. This page is the receipt; its address stays.
done-evaluated = The round is evaluated.
done-decided = The decision is recorded. Evaluate again to see its effect.
done-published = The round is published. Laboratories see their scores and certificates.

# Accounts
welcome-title = Not set up yet
welcome-text = Open the set-up link that the program printed when it started. It works once, for 60 minutes; starting the program again prints a new one.
setup-title = Set up this installation
setup-text = This page works once. It names the provider of the rounds and makes the first organiser's account.
setup-provider = The provider
setup-provider-name = Name of the provider
setup-provider-hint = As it stands on certificates.
setup-contact = Contact
setup-contact-hint = Address, e-mail, telephone, as they stand on certificates.
setup-accreditation = Accreditation of the provider for these rounds
setup-accreditation-hint = A sentence for the certificates. Empty prints that the provider is not accredited for this scheme.
setup-you = You, the first organiser
setup-button = Set up
person-name = Name
person-email = E-mail address
person-email-hint = It is what you sign in with.
person-password = Password
person-password-hint = At least 12 characters; a sentence of some words is good. A password manager may fill it in.
sign-in-title = Sign in
sign-in-button = Sign in
sign-in-help = Accounts are made by the organiser's invitation.
sign-in-carried = The session has ended. What was typed is carried along and saved as soon as you have signed in.
session-ended = The session has ended. Press Save to sign in again; what is typed is kept.
sign-in-failed = This address and this password do not belong together. Check both and try again.
invitation-title = Join as { $laboratory }
invitation-text = { $provider } invites this laboratory to its rounds. Choose the name and the password of your account; the link is used up then.
invitation-button = Make the account
account-exists = There is an account for { $seen } already. Sign in with it, or use another address.
password-short = The password has { $count } characters. Use at least { $least }.
password-long = The password has more than { $most } characters. Use a shorter one.
password-common = This password is one that others would try first. Use some words that do not belong together.

# Rounds
rounds-title = Rounds
rounds-empty-organiser = There is no round yet. Make the first one: a code, a title and a deadline are enough to begin.
rounds-empty-laboratory = No round is open for this laboratory yet. It appears here when the organiser opens it.
rounds-new = New round
round-code = Code
round-code-hint = Letters, digits and hyphens, such as QW-5. It stands in addresses and on certificates.
round-code-taken = There is a round { $seen } already. Choose another code.
round-title = Title
round-title-hint = What the round is about, such as: Pharmaceuticals in river water.
round-scheme = Scheme
round-scheme-hint = The series that the round belongs to. May be empty.
round-state = State
round-next = Next
round-deadline = Deadline
round-closes-on = Date
round-closes-on-hint = Year, month, day: 2027-03-31.
round-closes-time = Time
round-closes-time-hint = Hours and minutes: 17:00.
round-time-zone = Time zone
round-time-zone-hint = Such as Europe/Vienna. Laboratories see it with UTC.
round-instructions = Instructions
round-instructions-hint = What laboratories are told: storage, treatment as a routine sample, significant digits, what to do with results below the limit, ban on comparing results before publication.
round-new-title = New round
round-new-button = Make the round
round-edit-title = Change round { $code }
state-draft = being set up
state-open = open
state-deadline-over = open, deadline over
state-closed = closed
state-published = published
next-measurands = Add items and measurands
next-assigned = { $count ->
    [one] Give one measurand its assigned value
   *[other] Give { $count } measurands their assigned values
}
next-laboratories = Enrol laboratories
next-deadline = Choose a later deadline
next-open = Open the round
next-wait = Wait for the deadline; { $sent } of { $of } have sent results
next-close = Close the round; { $sent } of { $of } have sent results
next-evaluate = Evaluate
next-publish = Look at the evaluation and publish it
next-nothing = Nothing to do
next-correction = A correction is open: decide, evaluate, approve, publish
next-lab-enter = Enter and send your results
next-lab-revise = Results sent; they can be revised until the deadline
next-lab-late = Send your results at once; they will be marked as late
next-lab-wait = Wait for the scores
next-lab-nothing = No results were sent
next-lab-scores = Look at your scores and certificate
next-lab-registered = Published; no results were sent

overview-checklist = Before the round can open
check-ready = Ready
check-open = To do
check-items-missing = There is no item yet.
check-items-empty = No measurand yet in: { $items }.
check-items-done = { $count ->
    [one] One measurand.
   *[other] { $count } measurands.
}
check-items-link = Items and measurands
check-assigned-none = No measurand, so no assigned value yet.
check-assigned-missing = { $count ->
    [one] One measurand has no assigned value: { $list }.
   *[other] { $count } measurands have no assigned value: { $list }.
}
check-assigned-done = Every measurand has an assigned value or a rule for it.
check-assigned-link = Assigned values
check-laboratories-missing = No laboratory is enrolled yet.
check-laboratories-done = { $count ->
    [one] One laboratory is enrolled.
   *[other] { $count } laboratories are enrolled.
}
check-laboratories-link = Laboratories
check-deadline-past = The deadline is over.
check-deadline-done = The deadline lies ahead.
check-deadline-link = Title, deadline and instructions
overview-open = Open the round …
overview-not-ready = The round can open when every line of the list is ready.
overview-edit = Change title, deadline or instructions
overview-progress = { $sent } of { $of } laboratories have sent results.
overview-wait = Results are taken until the deadline. After it, the round can be closed.
overview-close = Close the round …
overview-closed = The round is closed. { $sent } of { $of } laboratories sent results.
overview-evaluate = Evaluate …
overview-evaluation = Evaluation
overview-published = The round is published. { $sent } of { $of } laboratories sent results.
overview-laboratories = Results by code
overview-by-code = In the order of the codes, which are random.
overview-record = Record of this round
progress-state = State
progress-at = Last
progress-nothing = nothing yet
progress-draft = draft
progress-sent = sent, version { $version }
late = Late
certificate = Certificate
certificate-of = Certificate of { $code }
package-link = Data package (JSON)

open-heading = Open round { $code }?
open-consequence = { $count ->
    [one] One laboratory sees the round and can send results until { $deadline }.
   *[other] { $count } laboratories see the round and can send results until { $deadline }.
}
open-frozen = Items, measurands, assigned values and the list of laboratories are fixed from then on.
open-button = Open the round
close-heading = Close round { $code }?
close-consequence = { $sent } of { $of } laboratories have sent results. After closing, no more results are taken, not even late ones.
close-late = What laboratories sent stays as it is; it can be evaluated then.
close-button = Close the round

event-round-made = Round { $detail } was made
event-round-changed = Title, deadline or instructions were changed
event-round-opened = The round was opened
event-round-closed = The round was closed
event-round-evaluated = Evaluation { $detail } was made
event-round-published = Evaluation { $detail } was published
event-item-added = Item { $detail } was added
event-item-removed = Item { $detail } was removed
event-measurand-added = { $detail } was added
event-measurand-removed = { $detail } was removed
event-measurands-imported = A file of { $detail } measurands was taken
event-plan-set = The assigned value of measurand { $detail } was set
event-assigned-values-imported = A file of { $detail } assigned values was taken
event-laboratory-enrolled = A laboratory was enrolled as { $detail }
event-laboratory-removed = The enrolment of { $detail } was ended
event-laboratories-imported = A file of { $detail } laboratories was taken
event-results-sent = Results were received: { $detail }
event-result-excluded = A result was left out of the summary: { $detail }
event-result-taken-back = A result was taken back into the summary: { $detail }

# Files
upload-label = File
upload-button = Upload
file-problems-heading = { $count ->
    [one] The file { $file } was not taken: one problem
   *[other] The file { $file } was not taken: { $count } problems
}
file-problems-nothing = Nothing was changed. Correct the lines below in the file and upload it again.
file-problems-table = Problems of the file
file-line = Line
file-column = Column
file-seen = What stands there
file-what = What to do

# Items and measurands
measurands-title = Items and measurands of { $code }
measurands-empty = There is no item yet. Upload a file of measurands, or add the first item by hand.
measurands-file = Add measurands from a file
measurands-file-hint = A CSV or .xlsx file with the columns item, analyte, unit, and where wanted expressed_as, decimals, required_loq, replicates, x_pt, u_x_pt or U_x_pt and k, sigma_pt or sigma_pt_percent, route. Items that do not exist are made.
item-empty = No measurand yet.
item-remove = Remove item { $item }
item-add-heading = Add an item
item-add = Add the item
item-label = Item
item-label-hint = A short label, such as A.
item-label-taken = The round has an item { $seen } already. Choose another label.
item-matrix = Matrix
item-matrix-hint = What the item is made of, such as river water.
measurand-add-heading = Add a measurand
measurand-add = Add the measurand
measurand-taken = The item has the analyte { $seen } already. Remove it there first, or choose another name.
analyte = Analyte
unit = Unit
unit-hint = As results are given, such as ng/L.
expressed-as-label = Expressed as
expressed-as-hint = The form that the result is given for, such as the free acid. May be empty.
decimals = Decimals
decimals-hint = How many decimals summaries show; empty is 0.
replicates = Replicates
replicates-hint = How many values each laboratory gives; empty is 1.
required-loq = Required LOQ
required-loq-hint = The limit of quantification that is asked for, in the unit. May be empty.

# Assigned values
assigned-title = Assigned values of { $code }
assigned-secret = Nobody but the organiser and its staff sees this page. Laboratories see assigned values after publication.
assigned-empty = The round has no measurand yet.
assigned-file = Set them from a file
assigned-file-hint = A CSV or .xlsx file with the columns item, analyte, unit, x_pt, then u_x_pt or U_x_pt and k, then sigma_pt or sigma_pt_percent, and where wanted route: formulation, reference or expert, or by_count (or a named estimator) for a consensus of participants, where x_pt may be empty or is what to fall back on, as the column fallback says. The template has a line for each measurand of this round.
route = Assigned value
route-missing = missing
route-formulation = formulation
route-reference = reference value
route-expert = expert laboratories
route-algorithm-a = participants, Algorithm A
route-median-made = participants, median
route-absent = absent
sigma-percent = { $percent } % of x
sigma-horwitz = Horwitz model
plan-title = Assigned value: { $analyte }, item { $item }
plan-unit = All numbers in { $unit }.
plan-route = Where the assigned value comes from
plan-formulation = Formulation
plan-formulation-hint = from how the item was made
plan-reference = Reference value
plan-reference-hint = from a reference material or a reference laboratory
plan-expert = Expert laboratories
plan-expert-hint = evaluated elsewhere
plan-algorithm-a = Participants, by Algorithm A
plan-algorithm-a-hint = a robust mean; for 18 results or more
plan-median-made = Participants, by the median
plan-median-made-hint = with the scaled median absolute deviation; for 8 to 17 results
plan-absent = Absent
plan-absent-hint = the item does not hold the analyte; a value counts as a false positive
plan-given = Value and uncertainty
plan-given-hint = For formulation, reference value and expert laboratories; beside a consensus, what to fall back on. Give the standard uncertainty, or the expanded one with k.
plan-value = Assigned value
plan-standard = Standard uncertainty u
plan-expanded = Expanded uncertainty U
plan-factor = Coverage factor k
plan-absent-below = Proven absent below
plan-absent-below-hint = Only for an absent analyte.
plan-sigma = Standard deviation for proficiency assessment
plan-percent = A percentage of the assigned value
plan-prescribed = A fixed value in { $unit }
plan-horwitz = The Horwitz model
plan-horwitz-hint = from the assigned value as a mass fraction; 22 % at trace levels
plan-sigma-value = Value or percentage
plan-sigma-hint = Empty for the Horwitz model and for an absent analyte.

# Laboratories
laboratories-title = Laboratories of { $code }
laboratories-empty = No laboratory is enrolled yet. Upload a file, or add them one by one.
laboratories-codes = Each laboratory has a random code, new in every round. Whose code it is stands on this page only.
laboratories-table = Enrolled laboratories
laboratories-file = Enrol laboratories from a file
laboratories-file-hint = A CSV or .xlsx file with the columns name, email and, where wanted, organisation.
laboratories-one = Enrol one laboratory
laboratories-add = Enrol
lab-name = Laboratory
lab-email = E-mail address
lab-email-hint = Where its invitation goes.
lab-organisation = Organisation
lab-organisation-hint = Only where laboratories belong together: one result of an organisation counts in a consensus.
lab-code = Code
lab-account = Account
account-none = not invited
account-invited = invited until { $until }
account-people = { $count ->
    [one] one person
   *[other] { $count } persons
}
invite-one = Invitation link
invite-one-label = Invitation link for { $name }
invite-all = { $count ->
    [one] Make the invitation link for one laboratory
   *[other] Make invitation links for { $count } laboratories
}
links-heading = { $count ->
    [0] Everyone has an invitation or an account
    [one] One invitation link
   *[other] { $count } invitation links
}
links-once = They are shown this once; copy them now. Each link makes one account, within 14 days; a newer link of the same laboratory ends the older one.
links-table = Invitation links
links-link = Link
laboratory-enrolled = { $seen } is enrolled already. Nothing needs to be done for it.
laboratory-name-taken = There is a laboratory { $seen } with the address { $email }. Write that address, or give the new laboratory another name.
laboratory-email-taken = The address { $seen } belongs to { $name }. Write that name, or give the new laboratory its own address.

# A laboratory's round
lab-your-code = your code { $code }
lab-items = Items
lab-check = Check and send
lab-check-ready = ready to send
lab-check-sent = sent as version { $version }, nothing changed since
lab-check-changed = changed since version { $version }, not sent yet
lab-check-open = something is missing or wrong
item-status-empty = nothing yet
item-status-part = { $ready } of { $of } rows ready
item-status-complete = { $count ->
    [one] complete, one row
   *[other] complete, { $count } rows
}
lab-late = The deadline is over. Results are still taken until the organiser closes the round, 48 hours at most. They are scored, marked as late, and take part in no consensus.
lab-closed-nothing = The round is closed. Your laboratory sent no results.
lab-closed-wait = The round is closed. Scores can be seen after publication.
lab-published = The round is published.
lab-see-scores = Your scores
lab-certificate = Certificate (PDF)
lab-statement = Statement of registration (PDF)
lab-sent = Sent
lab-version = Version { $version }

# Entering results
entry-title = Results for item { $item }, round { $code }
entry-once = Once for this item
entry-u-as = Uncertainties are given
entry-k-all = Coverage factor k for all rows without their own
u-as-none = choose …
u-as-absolute = in the unit of the result
u-as-percent = in percent of the result
entry-help = How to fill in a row
entry-help-numbers = Write 12.5 or 12,5; powers as 1.5e-3; thousands as 1 234. Every digit is kept as typed. A number with two readings, such as 1,250, is asked about.
entry-help-below = Below your limit, write < and the limit: <25. Zero is not a result.
entry-help-state = Each row needs a value, a limit, or the state “not analysed” or “failed” with its reason.
entry-help-uncertainty = U is the expanded uncertainty. Without k it is kept and cannot be used for a score.
entry-state = State
entry-state-label = State of { $analyte }
entry-reason-label = Reason for no result of { $analyte }
entry-value = Value, or < limit
entry-value-label = Value of { $analyte } in { $unit }
entry-replicate-label = Value { $n } of { $analyte } in { $unit }
entry-u-label = Expanded uncertainty U of { $analyte }
entry-k-label = Coverage factor k of { $analyte }
entry-loq-label = Limit of quantification of { $analyte } in { $unit }
entry-required-loq = asked for: LOQ at most { $loq }
entry-required-loq-all = The plan asks for a limit of quantification (LOQ) of at most { $loq } in every row.
state-of-none = by the entry
state-of-value = value
state-of-below = below the limit (<)
state-of-not-analysed = not analysed
state-of-failed = failed
reason-none = reason …
reading-which = Which number is meant?
reading-decimal = { $reading }, with a decimal sign
reading-thousands = { $reading }, with a mark for thousands
reading-taken = read as { $reading }
entry-next-default = Save and go on
entry-next-item = Save, on to item { $item }
entry-next-check = Save and check
entry-save = Save
entry-fill = Empty rows: not analysed
entry-saved = Saved { $at }
entry-unsaved = Not saved yet

# Checking and sending
check-title = Check and send: round { $code }
check-exactly = The list shows each result as it was typed and exactly as it will be evaluated.
check-problems = { $count ->
    [one] One thing keeps this from being sent. Follow its link to mend it.
   *[other] { $count } things keep this from being sent. Follow their links to mend them.
}
check-typed = As typed
check-evaluated = As evaluated
check-mean = mean { $value } { $unit }
check-factor-none = none: U cannot be used
check-change = Change
check-change-label = Change { $analyte }
check-consequence = After sending you get a receipt. Until the deadline you can send a revised version; every version is kept.
check-consequence-again = This will be version { $version }. It takes the place of the earlier one, which is kept.
check-submit = Send the results
check-replaces = Your version { $version } was received in time. Sending now puts a late version in its place: all your results are then marked as late and take part in no consensus.
check-replaces-confirm = Replace version { $version }, received in time, by this late one
late-replaces = A version was received in time already, and this one would be late. Tick the box if it is to take its place.
result-decided = Decided after this evaluation: { $decision }. Evaluate again to see the effect.
receipt-title = Receipt: version { $version }, round { $code }
receipt-replaced = A newer version has taken the place of this one.
receipt-newest = See the newest receipt
receipt-late = These results came after the deadline.
receipt-at = Received
receipt-address = Address of this receipt
receipt-document = What was stored, letter by letter (JSON)
receipt-hash = The SHA-256 above is over exactly these bytes.
receipt-revise = Revise the results

# Scores
scores-heading = Your results in round { $code }
scores-published = published { $at }
scores-headline = { $scored ->
    [0] None of your results has a class.
    [one] One result scored: { $acceptable } acceptable, { $questionable } questionable, { $unacceptable } unacceptable.
   *[other] { $scored } results scored: { $acceptable } acceptable, { $questionable } questionable, { $unacceptable } unacceptable.
}
scores-registered = Your laboratory was registered and sent no results.
scores-all = All your scores
scores-item = Item { $item }
scores-none-in-item = No result was sent for this item.
scores-each = Each measurand against all laboratories
scores-in-code-order = Scores in the order of the codes
scores-legend = U is the expanded uncertainty that you reported, in the unit of the result. D is the difference from the assigned value. ζ takes your reported uncertainty into account and is information only.
scores-each-none = Item { $item } has no measurand that you and at least four others reported.
scores-false-positives = { $count ->
    [one] { " " }One result is a false positive.
   *[other] { " " }{ $count } results are false positives.
}
false-positive = false positive
false-positives = { $count ->
    [one] One false positive.
   *[other] { $count } false positives.
}
scores-not-reported = { $count ->
    [one] One analyte not reported
   *[other] { $count } analytes not reported
}
reported = Reported
score = Score
class = Class
yours = yours
acceptable = accept.
questionable = quest.
unacceptable = unacc.
acceptable-range = { $low } to { $high }
range-label = Acceptable range
loq-not-met = The required limit of quantification was not met.
excluded-because = Left out of the summary: { $reason }.
basis-formulation = by formulation
basis-reference = from a reference
basis-expert = from expert laboratories
basis-participants = from the participants
basis-none = no assigned value
detection-false-negative = False negative: the analyte is present.
detection-correct = Correct: the analyte is absent.
detection-loq-not-met = The analyte is absent; the limit is above the required one.
detection-false-positive = False positive: the analyte is absent.
detection-trace = A trace of an absent analyte; not judged.
own-measurand-title = { $name }, round { $code }
own-nothing = You sent no result for this measurand.
figure-too-few = Fewer than five laboratories reported this measurand, so no figure with their results is shown.
figure-table = The numbers of the figures as a table
steps-label = Other measurands
cautions-heading = What these scores say and do not say
caution-page-scope = They describe these results on these items in this round. They do not certify the laboratory and are no accreditation or licence.
caution-page-rank = They must not be used to rank laboratories; differences between acceptable scores mean nothing.
caution-page-authority = Where a law or an authority sets its own criterion, that criterion and the competent authority's decision prevail.

# Evaluation
evaluation = Evaluation
evaluation-title = Evaluation of { $code }
evaluation-none = The round is closed and not evaluated yet. Evaluating changes no result and can be repeated.
evaluation-make = Evaluate
evaluation-again = Evaluate again
evaluation-stale = Decisions were made after this evaluation. Evaluate again to see their effect.
evaluation-ready = Look at each measurand. When all is well, publish.
evaluation-publish = Publish …
evaluation-published = This evaluation is published.
evaluation-versions = Evaluations
evaluation-version = Version { $version }, { $at }, { $by }; SHA-256 of its data package in canonical form (RFC 8785):
evaluation-summary = Summary of the results that count
evaluation-results = All results
evaluation-no-results = Nobody reported this measurand.
robust-mean = Robust mean
left-out = Left out
summary-participants = Results
summary-quantified = Counting values
summary-censored = Counting “<”
summary-excluded = Left out
summary-robust-mean = Robust mean (Algorithm A)
summary-robust-sd = Robust standard deviation
summary-median = Median
summary-made = MADe
summary-niqr = nIQR
summary-mean = Mean
summary-sd = Standard deviation
summary-ratio = Uncertainty ratio q = u/σ
decide = Decide …
decide-label = Decide on the result of { $code }
decide-title = Result of { $code }: { $name }
decide-reported = Reported: { $reported }.
decide-counts = It counts in consensus and summary.
decide-by-rule = It is left out of consensus and summary by rule: { $reason }.
decide-is-excluded = It is left out of consensus and summary.
decide-rule = The laboratory's number is never altered. A result that is left out is scored all the same. The reason must hold whatever the size of the result, and is printed.
decide-reason = Reason
decide-reason-hint = Such as: consistent with a factor of 1000 in all its results.
decide-exclude = Leave it out of the summary
decide-keep = Take it back into the summary
decide-past = Decisions so far
decision-excluded = Left out
decision-taken-back = Taken back
publish-title = Publish { $code }?
publish-consequence = { $count ->
    [one] One laboratory will see its scores and its certificate.
   *[other] { $count } laboratories will see their scores and certificates.
}
publish-scored = { $count ->
    [one] One result has a class.
   *[other] { $count } results have a class.
}
publish-excluded = { $count ->
    [0] No result is left out of the summary.
    [one] One result is left out of the summary; its reason is printed.
   *[other] { $count } results are left out of the summary; their reasons are printed.
}
publish-registered = { $count ->
    [one] One laboratory sent no results and gets a statement of registration.
   *[other] { $count } laboratories sent no results and get a statement of registration.
}
publish-visible = Every participant will see the assigned values, and in the data package the results of all by code, for each measurand that at least five laboratories reported.
publish-final = After that the evaluation stands and cannot be replaced here.
publish-type = Type { $code } to confirm
publish-code-differs = “{ $seen }” is not the code of this round. Type { $code }.
publish-button = Publish evaluation { $version }

# Names of fields, for lists of problems
field-provider = Name of the provider
field-contact = Contact
field-accreditation = Accreditation
field-name = Name
field-email = E-mail address
field-password = Password
field-code = Code
field-title = Title
field-scheme = Scheme
field-closes-on = Date of the deadline
field-closes-time = Time of the deadline
field-time-zone = Time zone
field-instructions = Instructions
field-label = Item
field-matrix = Matrix
field-item = Item
field-analyte = Analyte
field-unit = Unit
field-expressed-as = Expressed as
field-decimals = Decimals
field-replicates = Replicates
field-required-loq = Required LOQ
field-route = Assigned value
field-value = Assigned value
field-standard-uncertainty = Standard uncertainty u
field-expanded-uncertainty = Expanded uncertainty U
field-coverage-factor = Coverage factor k
field-absent-below = Proven absent below
field-sigma-route = Standard deviation for proficiency assessment
field-sigma = Value or percentage
field-organisation = Organisation
field-reason = Reason

# Notes of an evaluation
evaluation-note-few-participants = { $p } results can enter a consensus; 12 are wanted.
evaluation-note-no-spread = So many results are equal that there is no robust standard deviation.
evaluation-note-censored-not-identifiable = The results below a limit leave median and deviation open.
evaluation-note-fallback-used = There is no consensus; the fallback of the plan is used.
evaluation-note-no-consensus = There is no consensus and no fallback, so no assigned value.
evaluation-note-censored-share = { $censored } of { $all } results are below a limit, a quarter or more.
evaluation-note-same-round-sigma = The standard deviation for proficiency assessment comes from { $p } results of the same round; 18 are wanted.
evaluation-note-uncertainty-not-negligible = The uncertainty of the assigned value is above 0.3 of the standard deviation for proficiency assessment, so z′ decides.
evaluation-note-uncertainty-too-large = The uncertainty of the assigned value is above half of the standard deviation for proficiency assessment, so there is no class.
evaluation-note-en-needs-independent-value = Eₙ is not given: the assigned value depends on the participants.
evaluation-note-few-units = Homogeneity was tested on { $units } units; 7 are needed.
evaluation-note-insufficient-homogeneity = The units of the item differ by more than both criteria allow.
evaluation-note-insufficient-stability = The content of the item changed by more than the criteria allow.
evaluation-note-decision = By decision of the organiser.
