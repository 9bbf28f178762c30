# Texts of a laboratory's work on a round: tasks, drafts, questions before sending.

## Drafts

draft-saved-at = Saved { $at }
draft-offline = Not saved: no connection. What you typed stands here and is saved when the connection is back.
draft-both = A field was changed in another window too. Save to see both texts side by side.
draft-refused = Not saved: the round takes no results any more, or this page is out of date. Load it again.
draft-changed = { $name } changed something since this page was shown. Look at it once more, then send.
draft-which = Two people typed here. Which text is right?
draft-two-texts = This field was typed twice by people who did not see each other’s text: “{ $stored }” and “{ $other }”. Choose one, or type the right text.
draft-text-of = { $text } (typed by { $name }, { $at })
echo = = { $understood }

## Tasks

lab-tasks = What is to be done
lab-tasks-hint = In any order; what you type is saved, and you can go on later or on another computer.
lab-check-questions = { $count ->
    [one] One question about your results is to be answered
   *[other] { $count } questions about your results are to be answered
}
task-done = Done
task-optional = Nothing said yet; not needed for sending
task-empty = Not begun
task-open = { $count ->
    [one] One answer is missing
   *[other] { $count } answers are missing
}
task-wrong = { $count ->
    [one] One answer cannot be taken
   *[other] { $count } answers cannot be taken
}
task-unmet = { $count ->
    [one] One limit of the scheme is not met
   *[other] { $count } limits of the scheme are not met
}
task-unit-chosen = { $unit }
task-results = Results: item { $item }
task-unit = Unit of your results
task-unit-lead = Choose the unit in which you type your results, once for this round. Every number is shown in the unit of the round too. A wrong unit is the commonest slip in rounds like this one.
task-items = Items: arrival and analysis
task-items-lead = When each item arrived, how it looked, and when it was analysed.
task-method = Method and basis
task-method-lead = How you worked. The answers to the closed questions are used to compare groups of methods; no group smaller than five laboratories is shown.
task-performance = Performance of the method
task-performance-lead = What you know of your method from its validation. { $limits }. Nothing here touches a score, and empty fields are allowed.
task-declaration = Declaration
task-declaration-lead = Whoever sends the results says that they are the laboratory’s own. The record keeps who that was.
task-save = Save and go back to the list
task-save-check = Save and compare with the limits
task-later = Save, finish later
choice-unknown = “{ $seen }” is not one of the choices. Choose one from the list.
date-in-future = { $seen } has not come yet. Type the day on which it happened.

## Unit

unit-label = Unit of your numbers (the round uses { $unit })
unit-none = Choose a unit
unit-hint-once = Once for the whole round. Numbers in another unit are converted, and shown beside each field.
unit-missing = The unit of your numbers is not chosen. Choose the unit in which you type; the round uses { $unit }.
unit-yours = Your numbers are in { $unit }.
unit-change = Change the unit
unit-button = Use this unit
unit-digits-label = Numbers that are typed already
unit-digits-none = Choose what happens to them
unit-digits-convert = Convert them to the new unit
unit-digits-keep = Keep the digits as they are: they were meant in the new unit
unit-digits = Numbers are typed already, in { $before }. Choose whether they are converted to { $after }, or keep their digits.
unit-unread = { $count ->
    [one] One field holds something that cannot be read as a number
   *[other] { $count } fields hold something that cannot be read as a number
} and so cannot be converted. Correct the fields on the pages of results first; nothing was changed.
done-unit-chosen = The unit is chosen.

## Items

arrival-date = Arrived on
arrival-date-missing = The day of arrival is missing. Type the day on which the item arrived.
arrival-condition = Condition on arrival
arrival-remark = What you saw
arrival-remark-hint = Needed for “other”; otherwise only if there is something to say.
arrival-code = Code on the label
arrival-code-hint = Six characters, printed on the label of the bottle. It keeps items from being exchanged.
analysis-date = Analysed on
analysis-date-missing = The day of analysis is missing. Type the day on which the item was measured.
analysis-before-arrival = { $seen } is before the item arrived on { $received }. Correct one of the two days.
condition-none = Choose
condition-intact = Intact and cool
condition-warm = Intact, but warm
condition-leaking = Leaking
condition-broken = Broken
condition-other = Other
condition-missing = The condition on arrival is missing. Choose one from the list.
condition-remark-missing = Say in a few words what you saw.
label-code-missing = The code on the label is missing. Type the six characters that are printed on the bottle.
label-code-length = “{ $seen }” is not a code of six characters. Type what is printed on the label.
label-code-character = “{ $seen }” has a character that no label has. Type what is printed on the label.
label-code-check = “{ $seen }” is not a code: one character is wrong, or two are exchanged. Look at the label once more.
label-code-other-item = “{ $seen }” is the label of another of your items. Look at the bottle: the items may be exchanged.
label-code-foreign = “{ $seen }” is not the code of one of your items. Look at the label once more; if it says so, ask the organiser.

## Method and basis

method-questions = How you worked
method-volume = Volume of sample in one analysis
method-volume-none = Not stated
method-volume-below-1 = Below 1 mL
method-volume-1-to-10 = 1 mL to 10 mL
method-volume-10-to-100 = More than 10 mL, up to 100 mL
method-volume-above-100 = More than 100 mL
method-enrichment = Enrichment
method-enrichment-none = Not stated
method-enrichment-direct = None: injected as it is
method-enrichment-online = On line
method-enrichment-offline-solid-phase = Off line, on a solid phase
method-enrichment-liquid-liquid = Liquid–liquid
method-enrichment-other = Another
method-separation = Separation
method-separation-none = Not stated
method-separation-liquid = Liquid chromatography
method-separation-gas = Gas chromatography
method-separation-ion = Ion chromatography
method-separation-other = Another, or none
method-detection = Detection
method-detection-none = Not stated
method-detection-tandem-ms = Tandem mass spectrometry
method-detection-high-resolution-ms = High-resolution mass spectrometry
method-detection-single-ms = Single mass spectrometry
method-detection-optical = Absorption or fluorescence
method-detection-other = Another
method-calibration = Calibration
method-calibration-none = Not stated
method-calibration-in-solvent = In solvent
method-calibration-in-matrix = In the matrix
method-calibration-standard-addition = Standard addition
method-calibration-isotope-dilution = Isotope dilution
method-standard = Internal standard
method-standard-none = Not stated
method-standard-no-standard = None
method-standard-labelled-each = Isotope-labelled, one for each analyte
method-standard-labelled-some = Isotope-labelled, for some analytes
method-standard-other-substance = Another substance
method-recovery = Correction for recovery
method-recovery-none = Not stated
method-recovery-uncorrected = Not corrected
method-recovery-labelled = By the labelled standard
method-recovery-standard-addition = By standard addition
method-recovery-factor = By a factor, given below for each analyte
method-deviation = Anything different from your routine
method-deviation-none = Not stated
method-deviation-no = No
method-deviation-yes = Yes
method-remark = Remark
method-remark-hint = For “yes” above: what was different. Free text makes no groups.
deviation-missing = Say in a few words what was different from your routine.
basis-column = Expressed as
basis-label = yes, as { $basis }
basis-unconfirmed = { $analyte } is asked for as { $basis }. Convert your results if you have them in another form, then confirm.
recovery-column = Recovery
recovery-label = { $analyte }: correction for recovery
recovery-none = As stated above
recovery-uncorrected = Not corrected
recovery-labelled = By the labelled standard
recovery-factor = By a factor
recovery-standard-addition = By standard addition
recovery-factor-column = Factor
recovery-factor-label = { $analyte }: factor by which results were multiplied
recovery-factor-missing = The factor is missing. Type the number by which results were multiplied, such as 1.25.
recovery-factor-alone = A factor is typed, but the correction is another. Choose “by a factor”, or empty the factor.
recovery-origin-column = Where it comes from
recovery-origin-label = { $analyte }: where the factor comes from
recovery-origin-missing = Say where the factor comes from, such as “spiked river water, n = 6”.

## Performance

limit-said-none = The scheme sets no limits
limit-said-loq = Limit of quantification at most { $limit } { $unit }
limit-said-recovery-from = recovery at least { $limit } %
limit-said-recovery-to = recovery at most { $limit } %
limit-said-rsd = repeatability RSD at most { $limit } %
limit-said-carry = carry-over at most { $limit } %
p-from-name = Calibrated from
p-to-name = Calibrated to
p-r2-name = R²
p-recovery-name = Recovery, %
p-rsd-name = RSD, %
p-carry-name = Carry-over, %
p-loq-name = LOQ
p-from-label = { $analyte }: lowest calibration point, { $unit }
p-to-label = { $analyte }: highest calibration point, { $unit }
p-r2-label = { $analyte }: coefficient of determination of the calibration
p-recovery-label = { $analyte }: recovery of a spiked real sample, percent
p-rsd-label = { $analyte }: relative standard deviation under repeatability, percent
p-carry-label = { $analyte }: carry-over into a blank, percent
p-loq-label = { $analyte }: limit of quantification, { $unit }
limit-exceeded = { $seen } is above the limit { $limit } of the scheme.
limit-not-reached = { $seen } is below the limit { $limit } of the scheme.
r2-above-one = R² cannot be above 1. Check the number and its decimal sign.
span-order = The lower end { $from } is not below the upper end { $to }. Exchange or correct them.
span-incomplete = The span needs its lower end, its upper end and a unit. Fill in all three, or empty them.

## Declaration

declaration-own = These are our own results, obtained as we work every day and not agreed with anybody who takes part.
declaration-missing = The declaration is not given. Read the sentence and tick it if it is true.

## Check page

check-before = Version before: { $line }
check-line-uncertainty = { $result }, U = { $u }, k: { $k }
check-line-loq = { $result }; LOQ { $loq }
check-changed = { $count ->
    [one] One result differs
   *[other] { $count } results differ
} from version { $version }, marked below.
check-said = Beside the results
check-questions = Questions about your results
check-questions-lead = { $count ->
    [one] One question follows
   *[other] { $count } questions follow
} from your own numbers and from what the round has published to all. They say nothing about what is right. Answer each; the answers are kept with your results.
check-look = Look at it
check-keep-answers = Save the answers
answer-about-result = { $analyte } in item { $item }
answer-about-all = All results
answer-confirmed = It is right as it stands
answer-correct = I will correct it
answer-missing = This question is not answered ({ $question }). Say that it is right as it stands, or correct it.
done-to-correct = Your answers are kept. Here is what you want to correct.
said-item = arrived { $received }, { $condition }, analysed { $analysed }
said-item-code = { $line }, label { $code }
said-factor = factor { $factor } ({ $origin })
said-performance = { $analyte }: performance

## Questions before sending

selfcheck-limit-above-required = The limit { $limit } is above the limit of quantification { $required } that the plan asks for. Is it right?
selfcheck-limit-below-loq = The limit { $limit } is below your own limit of quantification { $loq }. Are both right?
selfcheck-loq-above-required = Your limit of quantification { $loq } is above the { $required } that the plan asks for. Is it right?
selfcheck-value-below-loq = The value { $value } is below your own limit of quantification { $loq }. Are both right?
selfcheck-outside-span = The value { $value } lies outside the span from { $from } to { $to } that the round published. Are number and unit right?
selfcheck-fewer-values = There { $count ->
    [one] is one value
   *[other] are { $count } values
} where { $planned } are planned. Is one missing?
selfcheck-values-differ = The values { $least } and { $most } differ by a factor of { $ratio }. Are both right?
selfcheck-factor-missing = The uncertainty has no coverage factor k, so scores that use it cannot be computed. Shall it stay so?
selfcheck-factor-unusual = The coverage factor { $k } is outside 1 to 4; it is often 2. Is it right?
selfcheck-uncertainty-unusual = The expanded uncertainty { $u } is { $percent } percent of the value. Are number, unit and form right?
selfcheck-uncertainty-below-digit = The expanded uncertainty { $u } is smaller than half of the last digit of the value. Are both right?
selfcheck-recovery-factor = The recovery factor { $factor } is outside 0.3 to 2. Is it right?
selfcheck-thousand-times-low = Nearly all of your { $count } results lie below the published span, and inside it if they were 1000 times as large. Is the unit right?
selfcheck-thousand-times-high = Nearly all of your { $count } results lie above the published span, and inside it if they were 1000 times as small. Is the unit right?
selfcheck-far-below-loq = { $count } of { $of } results are below a tenth of your own limits of quantification. Is the unit right?
selfcheck-same-number = The number { $number } stands in { $count } places. Was it copied?
selfcheck-same-replicates = In { $count } of { $of } results all values are the same to the last digit. Was a single value copied?
selfcheck-same-uncertainty = The uncertainty { $u } is the same in { $count } results, from { $least } to { $most }. Was it meant in percent?
selfcheck-rows-shifted = In item { $item }, from { $first } to { $last }, your limits of quantification are those of neighbouring rows in the other items. Have the rows moved?

## For the organiser

problem-file-unit-chosen = The file is in { $seen }, but { $chosen } was chosen as the unit for this round. Change one of the two.
asks-title = What is asked beside results in { $code }
asks-lead = Laboratories answer this on the page of the round. It is fixed when the round opens.
asks-frozen = The round is open, so nothing here can be changed.
asks-beside = Beside results
asks-arrival = Arrival and analysis of the items
asks-arrival-hint = With codes, each bottle gets a code of its own when the round opens; the laboratory types it from the label, so that items are not exchanged.
asks-arrival-nothing = Nothing
asks-arrival-dates = Days and condition
asks-arrival-codes = Days, condition, and the code on the label
asks-method = Closed questions on the method, and what results are expressed as
asks-declaration = A declaration that the results are the laboratory’s own
asks-questions = Questions before sending
asks-questions-hint = A laboratory is asked about its own numbers only: against its own limits, your plan and the span below. No assigned value and no other result is used.
asks-questions-on = Ask
asks-questions-off = Do not ask: slips are part of what this round tests
asks-span-from = Published span from
asks-span-to = to
asks-span-hint = The same for all items; publish it widely, so that it says nothing of a single one.
asks-performance = Ask for evidence of the performance of the method
asks-limits-hint = Limits of your scheme, each optional. Those suggested are common practice for trace analysis in water. They never touch a score.
asks-limit-loq = LOQ at most (unit of the round)
asks-limit-recovery-from = Recovery from, %
asks-limit-recovery-to = Recovery to, %
asks-limit-repeatability = RSD at most, %
asks-limit-carry-over = Carry-over at most, %
check-asks-none = Nothing is asked beside results.
check-asks-done = What is asked beside results is set.
check-asks-link = What is asked
labels-title = Labels of { $code }
labels-lead = Print one label for each bottle: the round, the item, and the code. The laboratory types the code when the bottle arrives. Whoever packs needs the list of laboratory codes as well.
labels-none = There are no codes. They are drawn when the round opens, if it asks for them.
labels-files = The list as a file:
labels-xlsx = Labels (.xlsx)
labels-csv = Labels (CSV)
labels-sheet = Labels
labels-link = Labels of the items
done-asks-saved = What is asked is saved.
event-asks-changed = What is asked beside results was changed
field-span-from = Span from
field-span-to = Span to
field-span-unit = Unit of the span
field-limit-loq = LOQ
field-limit-recovery-from = Recovery from
field-limit-recovery-to = Recovery to
field-limit-repeatability = RSD
field-limit-carry-over = Carry-over
field-arrival = Arrival
