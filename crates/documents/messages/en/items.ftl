# Items: preparation, homogeneity, stability, units, withdrawal.

items-link = Items: preparation, homogeneity, stability, units
items-title = Items of round { $code }
items-lead = What is known of each item: how it was made, whether its units are alike, and whether they stay as they are until the deadline.
items-empty = The round has no items yet.
items-waiting = { $count ->
    [one] One measurand needs a decision.
   *[other] { $count } measurands need a decision.
}
items-waiting-hint = Its study does not pass, and nobody has said what follows.
items-decision = Decision
items-needs-decision = Needs a decision
items-holds = In the package
items-holds-homogeneity = { $count ->
    [one] one pair of duplicates
   *[other] { $count } pairs of duplicates
}
items-holds-stability = before and after at { $condition }
items-holds-nothing = no studies
homogeneity = Homogeneity
stability = Stability
verdict-none = no data
verdict-simple = passes
verdict-expanded = passes, expanded limit only
verdict-insufficient = does not pass
verdict-no-sigma = σₚₜ not known yet
verdict-not-a-test = too few units for a test

# Preparation
preparation = Preparation
preparation-none = How the item was made is not recorded.
preparation-record-link = Record the preparation
preparation-change-link = Record it anew
preparation-title = Preparation of { $analyte } in item { $item }
preparation-lead = From what was weighed or taken to the content of the item in { $unit }. Every number has its unit and its standard uncertainty: in the same unit, or relative with a percent sign, such as 0.5 %.
preparation-substance = Substance
preparation-substance-hint = Name, batch or lot, and who made it when.
preparation-source = Beginning of the chain
preparation-weighed = A substance that was weighed
preparation-weighed-hint = Fill in mass, solution and purity.
preparation-from-stock = A solution of known content
preparation-from-stock-hint = Fill in the content; the purity only where the content does not have it already.
preparation-mass = Mass weighed
preparation-mass-hint = For a substance that was weighed.
preparation-solution = Solution it was dissolved in
preparation-solution-hint = Final volume or mass, for a substance that was weighed.
preparation-stock = Content of the stock
preparation-stock-hint = For a solution of known content.
preparation-purity = Purity
preparation-purity-hint = 98.5 % and 0.985 g/g are the same.
preparation-form = Form of the substance
preparation-form-same = As the results are expressed
preparation-form-salt = A salt, a hydrate or another form
preparation-form-salt-hint = Then the factor of the molar masses must be given.
preparation-factor = M(analyte)/M(substance)
preparation-factor-hint = Metformin from its hydrochloride: 129.16/165.62 = 0.7799.
preparation-factor-u = Standard uncertainty u of the factor
preparation-dilutions = Dilutions
preparation-dilutions-hint = In their order; leave empty what there was not.
preparation-taken = Dilution { $step }: taken
preparation-total = Dilution { $step }: filled up to
preparation-adding = Adding to the item
preparation-spike = Added to the item
preparation-item = Amount of the item
preparation-item-hint = Final volume or mass, with what was added.
preparation-native = Native content
preparation-native-measured = Measured, as below
preparation-native-limit = Below a limit
preparation-native-limit-hint = The limit L counts as L/2 with u = L/(2√3).
preparation-native-nothing = None
preparation-native-nothing-hint = Proven, as in ultrapure water.
preparation-native-number = Native content or limit
preparation-native-below = below { $limit }: { $half } with u = L/(2√3)
preparation-number = Number
preparation-u-label = Standard uncertainty u
preparation-choose = Choose
preparation-part-unit = { $name }, unit
preparation-part-u = { $name }, uncertainty
preparation-sure = Please confirm
preparation-confirm-small = The uncertainty is complete: purity, mass, volumes, dilutions and native content are in it.
preparation-confirm-planned = The chain is right as it stands, in spite of the planned value.
preparation-button = Compute and record
preparation-content = Content by preparation
preparation-u = u by propagation
preparation-u-percent = { $u } ({ $percent } %)
preparation-added = Added
preparation-native-large = The native content is { $percent } % of the whole, more than 20 %: a value from the formulation alone is weak.
preparation-small-confirmed = The uncertainty is { $percent } %, below 1 %. That it is complete was confirmed when it was recorded.
preparation-near = The planned value is { $planned }: they agree within 10 %.
preparation-planned-times = This is about { $times } times the planned value of { $planned }. A unit of the chain is probably not the one on the label.
preparation-planned-parts = This is about one { $times }th of the planned value of { $planned }. A unit of the chain is probably not the one on the label.
preparation-apart = The planned value is { $planned }: this differs from it by { $percent } %.
preparation-budget = Budget of the uncertainty
preparation-component = Component
preparation-value = Value
preparation-sensitivity = Sensitivity
preparation-share = Share in u²
preparation-source-note = u by the law of propagation for independent inputs; the sensitivity is how much the content moves with a component.
preparation-take = Take as assigned value
preparation-take-hint = It becomes the formulation value of the plan, rounded as it is published; with a consensus, the value beside it.
preparation-by-amendment = The plan is fixed since the round opened: its assigned value is changed by an amendment only.
done-preparation-recorded = The preparation is recorded.
done-preparation-taken = The content by preparation is the assigned value of the plan.
event-preparation-recorded = Preparation recorded: { $detail }
conflict-by-amendment = The round is open, so its plan is fixed. An assigned value is changed by an amendment of the plan, with a reason that is told to all.
conflict-no-preparation = There is no preparation on record to take the value from.
conflict-no-sigma = The measurand has no σₚₜ yet. Set it on the page of assigned values, then take the value from the preparation.
conflict-items-moved-on = The round moved on meanwhile. Load the page again.
conflict-measurand-recorded = Something is recorded of this measurand: a preparation, a study or a decision. It is kept as evidence, so the measurand cannot be taken away.
conflict-item-units = Units of this item are on record, so it cannot be taken away.

# What is wrong with a preparation
preparation-unit-amount = { $unit } is neither a mass nor a volume.
preparation-unit-mass = { $unit } is a volume, but a mass was weighed.
preparation-unit-content = { $unit } is not a content.
preparation-unit-step = A solution cannot be diluted from { $unit } to the other unit: take a volume of a content per volume, or a mass of a content per mass.
preparation-unit-spike = { $unit } does not fit to the solution: of a content per volume a volume is added, of a content per mass a mass.
preparation-unit-item = { $unit } does not lead to { $of }: the amount of the item must be a volume for a content per volume, and a mass for one per mass.
preparation-unit-native = { $unit } is not a unit that can be converted to { $of }.
preparation-unit-unknown = A content in { $unit } cannot be computed from a chain of masses and volumes.
preparation-unit-missing = Choose a unit.
preparation-unit-none = “{ $seen }” is not one of the units here.
preparation-no-uncertainty = All uncertainties are zero. No value is without uncertainty.
preparation-out-of-range = The content cannot be computed from these numbers.
preparation-small = The uncertainty comes out at { $percent } % of the content, below 1 %. Is it complete?
preparation-times = The content comes out at { $times } times the planned value in { $unit }. Is a unit of the chain wrong, such as µg for ng?
preparation-parts = The content comes out at one { $times }th of the planned value in { $unit }. Is a unit of the chain wrong, such as ng for µg?
preparation-source-missing = Say what the chain begins with.
preparation-form-missing = Say in which form the substance was weighed.
preparation-native-missing = Say what the matrix held before.
preparation-native-unused = There is a number, but the native content is said to be none.
preparation-factor-missing = A salt form needs the factor of the molar masses: M(analyte)/M(substance).
preparation-factor-unused = There is a factor, but the substance is said to be as the results are expressed.
preparation-factor-range = { $seen } is not a factor between two forms of a substance. Divide the molar mass of the analyte by that of the substance.
preparation-purity-above = { $seen } % is more than all of it.
preparation-purity-share = { $seen } % would be almost none of it. Is it { $seen } g/g?
preparation-purity-percent = { $seen } g/g is more than all of it. Is it { $seen } %?
preparation-step-exchanged = More is taken than it is filled up to. Are the two exchanged?
preparation-uncertainty-missing = The standard uncertainty is missing. Write it in the unit of the number, or relative with a percent sign, such as 0.5 %.

# Studies
study-record-link = Record data
study-change-link = Record data anew
study-versions = { $count } versions
study-version = recorded { $at } by { $by }
study-counts = (counts)
study-table = The data as a table
study-data = Data
study-method = Method, place and day
study-method-hint = For the record, such as: LC-MS/MS, repeatability 4 %, 12 March 2027. May stay empty.
study-button = Record
study-unit-number = Unit
study-run = Run
study-value = Value { $n }
study-mean = Mean
study-condition = Condition
study-day = Day
study-units = Units
study-between = SD between units
study-within = SD within units
study-limit = 0.3 σₚₜ
study-expanded-limit = Expanded limit
study-began-on = Date of day 0
study-began-on-hint = When the first values were measured.
study-sigma-plan = σₚₜ = { $sigma }, by the plan
study-sigma-evaluation = σₚₜ = { $sigma }, by the newest evaluation: the plan has it relative to the assigned value
study-sigma-preparation = σₚₜ = { $sigma }, by the plan relative to the content by preparation, until there are results
study-sigma-study = σₚₜ = { $sigma }, by the plan relative to the mean of the study, until there are results
study-sigma-none = σₚₜ is not known: set it in the plan
study-problems = { $count ->
    [one] One thing is wrong. Nothing was recorded, and what you typed is below.
   *[other] { $count } things are wrong. Nothing was recorded, and what you typed is below.
}
study-whole-number = “{ $seen }” is not a whole number above zero.
study-columns = The line has { $count } cells. It needs three or four: unit, run (optional), value 1, value 2.
study-columns-differ = The line has { $count } cells, the first line has { $first }. The run is given for all units or for none.
study-columns-stability = The line has { $count } cells. It needs condition, day, and one to six values.
study-empty = There are no data.
study-too-many = There are more than { $limit } lines.
study-unit-twice = Unit { $seen } stands in line { $first } already.
study-run-twice = Place { $seen } of the run stands in line { $first } already.
study-run-missing = The run is missing here, but given for other units of the same measurand. It is given for all or for none.
study-one-day = There is only one day. A study of stability needs a first and a later one.
study-one-day-of = { $analyte } in item { $item } has only one day. A study of stability needs a first and a later one.
study-two-dates = The date of day 0 is { $first } in an earlier line of the same measurand.
done-study-recorded = The data are recorded.
done-studies-imported = The data of the file are recorded.
event-homogeneity-recorded = Homogeneity recorded: { $detail }
event-stability-recorded = Stability recorded: { $detail }
event-homogeneity-imported = { $detail ->
    [one] Homogeneity of one measurand read from a file
   *[other] Homogeneity of { $detail } measurands read from a file
}
event-stability-imported = { $detail ->
    [one] Stability of one measurand read from a file
   *[other] Stability of { $detail } measurands read from a file
}
studies-link = Read homogeneity and stability of many measurands from a file
studies-title = Studies of items from a file, round { $code }
studies-lead = One file for as many measurands as you like. What a file holds of a measurand replaces what was recorded before; earlier versions are kept.
studies-homogeneity-hint = One line for each unit: item, analyte, unit of the values, number in the order of filling, place in the run, and two values.
studies-homogeneity-button = Read homogeneity
studies-stability-hint = One line for each unit and day: item, analyte, unit of the values, date of day 0, condition, day, and one to four values.
studies-stability-button = Read stability
file-how-study = The line below the names of the columns is an example. Replace it by one line for each unit. Keep the names of the columns.

homogeneity-none = No study of homogeneity is recorded.
homogeneity-form-title = Homogeneity of { $name }
homogeneity-form-lead = Two values of each unit in { $unit }, measured in random order.
homogeneity-data-hint = One unit a line: its number in the order of filling, its place in the run (optional), value 1, value 2; between them a tab, a semicolon or a comma. A table can be pasted from a spreadsheet.
homogeneity-not-a-test = Fewer than seven units are not a test. The standard deviation between the units is { $between }; with 95 % it lies between { $low } and { $high }.
homogeneity-one-unit = One unit says nothing of what units differ.
homogeneity-no-sigma = The standard deviation between the units is { $between }. Without σₚₜ there is no limit to hold it against.
homogeneity-simple = The standard deviation between the units is at most 0.3 σₚₜ: the units are sufficiently alike.
homogeneity-expanded = The standard deviation between the units is above 0.3 σₚₜ, but within the expanded limit, which allows for the uncertainty of the test. That is not plainly passed: the reviewer sees it.
homogeneity-insufficient = The standard deviation between the units is { $share } σₚₜ, above the expanded limit: the units are not sufficiently alike.
homogeneity-method-good = The standard deviation within the units is { $share } σₚₜ, at most 0.5: the method is precise enough for the test.
homogeneity-method-poor = The standard deviation within the units is { $share } σₚₜ, above 0.5: the method is too imprecise for a sharp test. More replicates of each unit would help.
homogeneity-power = Units that differ by a standard deviation of { $at } σₚₜ, twice the limit, would be found with a chance of { $percent } % by the expanded limit.
homogeneity-power-weak = Units that differ by a standard deviation of { $at } σₚₜ, twice the limit, would be found with a chance of only { $percent } % by the expanded limit: the test is permissive. More replicates of each unit would help.
homogeneity-cochran = No pair of duplicates differs more than the others let expect (Cochran, C = { $c }, at most { $critical } at 5 %).
homogeneity-cochran-found = The duplicates of unit { $unit } differ more than the others let expect (Cochran, C = { $c }, above { $critical } at 5 %). Look at them; only a technical reason lets a pair be left out.
homogeneity-filling = No trend over the order of filling (p above 0.05).
homogeneity-filling-found = The content moves over the order of filling by { $range } (p < 0.05). A decision may add u_hom = range/(2√3) = { $u }.
homogeneity-run = No trend over the order of measurement (p above 0.05).
homogeneity-run-found = The values move over the order of measurement by { $range } (p < 0.05): the instrument may have drifted, and the spread between units may be less than it seems.
homogeneity-run-missing = The order of measurement was not noted: the test for a trend over it is left out, and it cannot be seen that the order was random.
homogeneity-run-same = The units were measured in the order of filling: a drift of the instrument cannot be told from one of the items.

stability-none = No study of stability is recorded.
stability-form-title = Stability of { $name }
stability-form-lead = Values of units in { $unit } on day 0 and later, for each condition.
stability-data-hint = One unit a line: condition (such as 4 °C), day, and one to six values; between them a tab, a semicolon or a comma. The lines of the first day count for all conditions.
stability-simple = The content changes by at most 0.3 σₚₜ: the item is sufficiently stable.
stability-expanded = The content changes by more than 0.3 σₚₜ, but within the expanded limit, which allows for the uncertainty of the means. That is not plainly passed: the reviewer sees it.
stability-insufficient = The content changes by more than the expanded limit: the item is not sufficiently stable.
stability-no-sigma = Without σₚₜ there is no limit to hold the change against.
stability-after = { $condition }
stability-change = { $difference } ({ $percent } %) after { $days } days
stability-condition-simple = { $condition }: within 0.3 σₚₜ.
stability-condition-expanded = { $condition }: above 0.3 σₚₜ, within the expanded limit of { $expanded }, from { $units } units a day at least.
stability-condition-insufficient = { $condition }: above the expanded limit of { $expanded }.
stability-condition-none = { $condition }: no limit.
stability-slope = { $condition }: no slope over the days (p above 0.05); the line changes by { $change } over them.
stability-slope-found = { $condition }: the content moves over the days by { $change } on the line (p < 0.05).
stability-not-to-the-end = Stability is not shown to the end: the study ends on { $until }, the deadline is { $deadline }. The reviewer must accept that.
stability-to-the-end = Stability is shown until { $until }, to the deadline of { $deadline } or longer.

figure-study-spans = Vertical lines join the replicates of a unit.
figure-study-limit = { $multiple } σₚₜ
figure-units-title = Means of the units, { $name }
figure-units-caption = Means of { $count } units in the order of filling, from { $low } to { $high }.
figure-units-below = Number in the order of filling
figure-units-mean = mean
figure-units-limits = Broken lines: twice 0.3 σₚₜ from the mean, where 95 % of the units of a batch that is just good enough would lie.
figure-units-line = The line is the trend over the order of filling.
figure-days-title = Means of the units over time, { $name }
figure-days-caption = At { $condition }, the mean of the units changes by { $change } until day { $day }.
figure-days-below = Day
figure-days-start = day 0
figure-days-limits = Broken lines: 0.3 σₚₜ from the mean of the first day.
figure-days-line = The line is the slope at { $condition }.
figure-days-other = Open squares: { $conditions }.

# Decisions
item-decisions = Decisions
item-decisions-none = Nothing is decided on this item: it is used as planned.
item-decisions-newest = The newest on homogeneity and the newest on stability count.
item-decide-link = Decide what follows
item-decide-title = { $topic } of { $name }: decision
item-decide-button = Record the decision
item-decided = { $topic }: { $decision }
item-decision-as-planned = use as planned
item-decision-add-uncertainty = use, with { $number } added to u(xₚₜ)
item-decision-add-sd = use, with { $number } added to σₚₜ
item-decision-information = information only
item-decision-not-scored = not scored
item-decision-consent = consent
item-kind = What follows
item-kind-as-planned = Use as planned
item-kind-as-planned-hint = Nothing is added.
item-kind-add-uncertainty = Use, and add to the uncertainty u(xₚₜ)
item-kind-add-uncertainty-hint = In quadrature, as u_hom or u_stab. Not for the homogeneity of a consensus of the participants, which has it already.
item-kind-add-sd = Use, and widen σₚₜ
item-kind-add-sd-hint = In quadrature, as σ′. Never beside an uncertainty for the same reason: only one decision counts.
item-kind-information = Information only
item-kind-information-hint = Scores are shown without a class.
item-kind-not-scored = Withdraw: no scores
item-kind-not-scored-hint = Results are kept and shown. To tell all participants at once, withdraw it on the page of the item’s units.
item-number = Standard uncertainty or deviation to add ({ $unit })
item-number-hint = Only for the two choices that add something.
item-number-offered = Only for the two choices that add something. The study offers { $offered }.
item-reason = Reason
item-reason-hint = Printed in the report.
done-item-decided = The decision is recorded.
judgement-consensus-has-it = A consensus of the participants already contains what their units differed: an uncertainty for it would count twice. Widen σₚₜ instead, or decide otherwise.

# Units
ledger-none = No units are on record.
ledger-summary = { $made } units, { $spares } of them spare.
ledger-link = Units of item { $item }
ledger-title = Units of item { $item }, round { $code }
ledger-empty = How many units were made is not on record yet.
ledger-made = Made
ledger-spares = Spare
ledger-tested-count = Opened for the study of homogeneity
ledger-without = Participants without a unit
ledger-waiting = Waiting to be sent
ledger-unconfirmed-count = Sent, not confirmed
ledger-unconfirmed = Sent, but the laboratory has not said that it arrived: { $codes }
ledger-number = Unit
ledger-dispatched = Sent
ledger-received = Received, as the laboratory says
ledger-notes = Notes
ledger-xlsx = Ledger as .xlsx
ledger-csv = Ledger as .csv
ledger-others = { $count ->
    [one] One unit that is nobody’s has a history
   *[other] { $count } units that are nobody’s have a history
}
ledger-tested = Opened for the study of homogeneity.
ledger-void = Void: { $reason }
ledger-void-before = Unit { $number } void: { $reason }
ledger-make-heading = Units made
ledger-make = Number of units
ledger-make-hint = All, spares and those for tests included. They are numbered from 1 in the order of filling.
ledger-make-button = Record
ledger-assign-heading = Give units to participants
ledger-assign = { $count ->
    [one] Draw a unit for one participant
   *[other] Draw units for { $count } participants
}
ledger-assign-hint = Units are drawn at random from the spares. Units of the study of homogeneity and void ones are left out. The code on the label is the participant’s; the number says which unit it stands on.
ledger-assigned-all = Every participant has a unit.
ledger-dispatch-heading = Dispatch
ledger-dispatched-on = Sent on
ledger-carrier = Carrier
ledger-dispatch = { $count ->
    [one] Mark one unit as sent
   *[other] Mark { $count } units as sent
}
ledger-replace-heading = Replace a damaged or lost unit
ledger-replace-hint = The code of the participant. The old number becomes void, the first spare is the participant’s and waits to be sent.
ledger-reason = What happened
ledger-replace = Replace
ledger-remark-heading = Note something of a unit
ledger-remark = Note or reason
ledger-remark-hint = A spare that is of no use, or was taken for another test, is made void.
ledger-note-button = Note
ledger-void-button = Make void
ledger-count = “{ $seen }” is not a number of units from { $least } to { $most }. Units with a history are not taken away.
ledger-few-spares = { $needed } units are needed, and { $spares } are spare. Record how many were made.
ledger-nothing-to-send = No unit waits to be sent.
ledger-future = This day has not come yet.
ledger-no-unit = This participant has no unit to replace.
ledger-code = No participant has the code “{ $seen }”.
ledger-number-none = “{ $seen }” is not the number of a unit, from 1 to { $most }.
ledger-owned = Unit { $seen } is a participant’s. Replace it by the participant’s code.
conflict-units-draft = Participants get their units once the round is open: until then their codes may change.
field-made = Number of units
field-dispatched-on = Sent on
field-carrier = Carrier
field-number = Number
field-remark = Note or reason
field-assign = Units
field-method = Method
field-began-on = Date of day 0
field-what = What is withdrawn
done-units-made = The number of units is recorded.
done-units-assigned = Every participant has a unit.
done-units-dispatched = The units are marked as sent.
done-unit-replaced = The unit is replaced. The new one waits to be sent.
done-unit-void = The unit is void.
done-unit-noted = The note is recorded.
event-units-made = Number of units recorded, item { $detail }
event-units-assigned = Units given to participants, item { $detail }
event-units-dispatched = Units sent, item { $detail }
event-unit-replaced = A unit replaced, item { $detail }
event-unit-void = A unit made void, item { $detail }
event-unit-noted = A note on a unit, item { $detail }
file-units = Units
file-units-explained = The units of an item by participants’ codes. received_on and condition are as the laboratory said.

# Withdrawal
withdraw-heading = Unsuitable item
withdraw-hint = An item that turns out to be unsuitable after dispatch is withdrawn, with the same notice to all at once.
withdraw-link = Withdraw the item or a measurand
withdraw-title = Withdraw item { $item } or a measurand of it
withdraw-lead = All participants are told the same at once. Results that were typed or sent are kept, and nothing of what is withdrawn is scored.
withdraw-what = What is withdrawn
withdraw-whole = The whole item { $item }
withdraw-reason = Reason, for all participants to read
withdraw-reason-hint = What was found, and what they shall do with their units. No results, no codes.
withdraw-tells = { $count ->
    [one] One participant reads it on its page of the round and in its form.
   *[other] { $count } participants read it on their page of the round and in their form.
}
withdraw-tells-mail = { $count ->
    [one] One participant reads it on its page of the round and in its form, and is told by mail.
   *[other] { $count } participants read it on their page of the round and in their form, and are told by mail.
}
withdraw-button = Withdraw and tell all
withdrawal-what = Choose what is withdrawn.
withdrawal-twice = It is withdrawn already.
withdrawn = Withdrawn
withdrawn-because = withdrawn: { $reason }
withdrawn-notice = { $what }: { $reason } Nothing typed is lost, and it will not be scored. ({ $at })
withdrawn-row = withdrawn: { $reason } Nothing typed is lost; it will not be scored.
conflict-withdraw-draft = The round is not open yet: nothing was sent out. Take the measurand away, or change the item.
done-item-withdrawn = It is withdrawn, and all participants are told.
event-item-withdrawn = Withdrawn: { $detail }
message-kind-withdrawal = Withdrawal
mail-subject-withdrawal = { $provider }: withdrawn from { $title }
mail-body-withdrawal =
    Dear { $name },

    in round { $code }, { $title }, this is withdrawn: { $what }.

    Reason: { $reason }

    This notice goes to all participants at the same time. Nothing that you typed is lost, and what is withdrawn will not be scored. Everything else goes on as planned:

    { $link }

# Files that are kept of units.
unit-files = Files
unit-files-of = Files of the unit of { $code }
unit-files-title = Files of the unit of { $code }, item { $item }
unit-files-own-title = Files of your unit of item { $item }
unit-files-lead = The record of a temperature logger, and photos of the condition. A file that was added cannot be removed later.
unit-files-empty = No file is kept yet.
unit-file-photo = Photo
unit-file-logger = Logger file
unit-file-what = File
unit-file-from = From
unit-file-when = Kept
unit-file-number = Unit
unit-file-laboratory = the laboratory
unit-file-size = Size
unit-file-size-of = { $kilobytes } kB
unit-file-in-short = { $what }, { $from }, { $at }
unit-file-open = Download
unit-file-open-label = Download: { $what }, { $at }
unit-file-who = The organiser can open it, and a laboratory what it sent itself. Statisticians and reviewers see only that there is one. Opening what a laboratory sent may show its name and is noted in the record of the round.
unit-file-who-own = The organiser can open it, and your laboratory; statisticians, reviewers and other laboratories cannot. Place, time and device that a camera writes into a photo are taken out before it is kept. What a logger writes into its file stays in it.
unit-file-upload = Add a file
unit-file-label = File from your computer
unit-file-hint = A photo (PNG, JPEG or WebP), or the file of a temperature logger (CSV, text, PDF or .xlsx), up to 5 MB. A photo needs to show the unit and its label only.
unit-file-button = Keep
unit-file-none = Choose a file that is not empty.
unit-file-large = The file is larger than { $most } MB. Make the photo smaller, or let the logger write fewer readings.
unit-file-kind = The content is no PNG, JPEG or WebP picture and no CSV, text, PDF or .xlsx file without macros. Save it as one of these.
unit-file-broken = The picture is incomplete or moves. Save it again as one plain picture.
unit-file-many = { $most } files of this unit are kept already; no more are taken.
conflict-unit-file-draft = The round is not open yet: nothing was sent out.
conflict-unit-file-ended = The round takes no results now, and no files from laboratories. Send the file to the organiser.
arrival-files-hint = A photo of the condition on arrival, or the file of a temperature logger, can be kept beside what you say here.
done-unit-file-kept = The file is kept.
event-unit-file-kept = A file of a unit was kept: { $detail }
event-unit-file-received = A file of a unit came from a laboratory: { $detail }
