# Files of a round, and open data.

## Other forms of analytes

asks-forms-legend = Other forms of analytes
asks-forms = Forms that are reported by mistake
asks-forms-hint = One on each line: analyte; form; ratio, as in “ibuprofen; lysine salt; 1.71”. The ratio is the molar mass of the form over that of what the plan asks for. The review lists laboratories whose results are off by it; nothing is corrected. A ratio within 25 % of one is kept in the plan but cannot be told from ordinary errors.
field-forms = Other forms of analytes
forms-parts = Line { $line }: “{ $seen }” has not the three parts analyte; form; ratio. Put a semicolon between them.
forms-analyte = Line { $line }: “{ $seen }” is no analyte of this round. Write it as on the page of measurands, or add the measurand first.
forms-name = Line { $line }: “{ $seen }” is no name of a form. Write what it is called, with { $limit } characters at most.
forms-ratio = Line { $line }: “{ $seen }” is no ratio. Write a number above zero, such as 1.71.
forms-one = Line { $line }: a ratio of { $seen } changes nothing. Write the ratio of the molar masses, or delete the line.
forms-many = These are more than { $limit } forms. Keep those that are reported by mistake.
plan-asks-form = Another form that the review looks for: { $analyte } as { $form }, { $ratio } times.

## The list of files

files-link = Files
files-title = Files of round { $code }
files-unpublished = The tables of the round are here after it is published. Until then there is what is listed.
files-file = File
files-holds = What it holds
files-as = As
files-csv = CSV
files-xlsx = .xlsx
files-pdf = PDF
files-json = JSON
files-zip = .zip
files-of-own = Your own
files-of-work = While the round is worked on
files-of-round = The published round
files-template = Template of results
files-template-holds = A line for each measurand of the round, to be filled in.
files-own-results = Your results
files-own-results-holds = The newest version that you sent, as typed and as numbers.
files-superseded = Earlier versions, superseded
files-of-version = { $file }, version { $number }
files-own-scores = Your scores
files-own-scores-holds = Your published scores with the values that they were made with.
files-certificate = Certificate
files-certificate-holds = Your results and scores as a signed document.
files-own = Everything of yours
files-own-holds = All versions that you sent, letter by letter, with their receipts; after publication also scores and the decisions that touch you.
files-sent = What was sent
files-sent-holds = The newest version of every laboratory, as typed and as numbers, by code.
files-working = Scores of the evaluation
files-working-holds = Scores of the evaluation that the pages show.
files-round = The whole round
files-round-holds = One workbook with a sheet for each of the tables below, and one that says what they are.
files-results = Results
files-scores = Scores
files-summary = Summary
files-plan = Plan
files-decisions = Decisions
files-methods = Groups of methods
files-methods-holds = Counts, median, robust standard deviation and differences of the groups; no group of fewer laboratories than the round’s limit.
files-package = Round package
files-package-holds = Everything that the evaluation depends on, to make it again with any program.
files-open-data = Open data
files-open-data-holds = The package that was released last: only laboratories that consented, under fresh codes.
table-results = One line for each result, as reported: values with the digits that were sent, limits of “<”, uncertainty; whether it counts, whether it is scored, and why not.
table-scores = One line for each result with difference, scores and class, and the values that they were made with.
table-summary = One line for each measurand: counts, location and spread of the counting values, assigned value with its route and uncertainty, sigma_pt, limits, how many results are in each class.
table-plan = One line for each measurand: where its value and sigma_pt come from, scores, what is done with “<”, published decimals.
table-decisions = One line for each decision on a result or a measurand until publication, oldest first.
tables-whole = These tables are whole, as the staff may see them. Give them to nobody: measurands that fewer than five laboratories reported are in them.
tables-shared = These tables are those of the report: all laboratories by code. Measurands that fewer than five laboratories reported are not in them.
tables-numbers = Numbers are numbers with a decimal point; instants are texts as 2027-03-01T12:00:00Z, in UTC. In CSV files (UTF-8, RFC 4180) a text that a spreadsheet would compute begins with an apostrophe.
conflict-tables-unpublished = This round is not published, so its tables are not there yet.

## Everything of one laboratory

own-heading = Everything that is kept of laboratory { $code } in round { $round }.
own-unpublished = The round is not published: this is what your laboratory sent, and nothing of others.
own-published = The round is published: scores and decisions are those of your laboratory.
own-files = sent/ has each version that was sent, letter by letter, as it is stored; receipts/ the signed receipt of each; results.csv the newest version as a table. After publication scores.csv has your scores, and decisions.csv what was decided about your results and about measurands that you reported.
own-elsewhere = Your certificate is at { $base }/certificate.pdf, the package of the round at { $base }/package.json, and the tables of the report at { $base }/files.

## Consent to open data

open-data-link = Open data
open-data-title = Open data of round { $code }
open-data-is-given = Your laboratory has agreed that its results of this round may be kept and published for research as open data.
open-data-is-not-given = Your laboratory has not agreed to open data. Its results of this round are not in the open data package.
open-data-what = The organiser may release the results of a published round as open data, for research. Only laboratories that agree are in it:
open-data-how-codes = under a fresh random code that has nothing to do with your code in the round, in an order of its own;
open-data-how-groups = with the answers on the method only where at least five laboratories gave the same, and measurands only where at least five laboratories reported;
open-data-how-never = without names, places, dates, labels and anything that was written in sentences.
open-data-how-numbers = The numbers are those that you reported. Who holds the report of the round can find in it the code that belongs to the same numbers; no name stands there.
open-data-how-withdraw = You can withdraw at any time, without a reason and without any consequence. A package that is made after that is without your results; copies that others hold already cannot be called back.
open-data-give-button = Agree to open data
open-data-withdraw-button = Withdraw our agreement
open-data-who-may = Whoever may send results for your laboratory agrees or withdraws.
open-data-said = What was said
open-data-said-yes = Agreed
open-data-said-no = Withdrawn
done-open-data-given = Your laboratory has agreed to open data of this round.
done-open-data-withdrawn = Your laboratory’s agreement is withdrawn. Packages made from now on are without its results.
done-open-data-released = The open data are released. Download the package here.
event-open-data-given = Agreed to open data of round { $detail }
event-open-data-withdrawn = Agreement to open data of round { $detail } withdrawn
event-open-data-released = Open data released under { $detail }

## The organiser's page

open-data-lead = A package of the published results for research, made so that nothing leads back to a laboratory. Which laboratories agreed is not shown to anybody.
open-data-consents = { $count } laboratories have agreed.
open-data-consents-few = How many laboratories have agreed is said from { $least } on.
open-data-unpublished = The round is not published. Open data are made of published results.
open-data-too-few = Fewer than { $least } laboratories that reported have agreed, so there is no package: with fewer, results could be told apart. Laboratories agree on their own page of the round.
open-data-stopped = The package would hold a group of fewer than five laboratories or a code of the round, so it was not made. Report it to whoever runs this service.
conflict-open-data-few = Laboratories have withdrawn, and fewer than five are left. The package is not given out any more.
conflict-open-data-stopped = The package would hold a group of fewer than five laboratories or a code of the round, so it was not made. Report it to whoever runs this service.
open-data-holds = What the package holds
open-data-laboratories = { $count } laboratories with results, scores, the summary of these results, decisions in closed words, the plan without names, a code book and schemas.
open-data-not-in = What is not in it, and why
open-data-without-consent = { $count } laboratories reported and have not agreed.
open-data-without-consent-few = Laboratories that have not agreed; below five their number is not told.
open-data-few =
    { $count ->
        [one] One measurand, because fewer than five of these laboratories reported it: { $list }.
       *[other] { $count } measurands, because fewer than five of these laboratories reported them: { $list }.
    }
open-data-merged =
    { $count ->
        [one] One answer on the method that fewer than five gave stands as “other”.
       *[other] { $count } answers on the method that fewer than five gave stand as “other”.
    }
open-data-withheld =
    { $count ->
       *[other] The answers on the method of { $count } laboratories are withheld: their combination is that of fewer than five, or how few others worked could be worked out by subtraction.
    }
open-data-never = Names, codes of the round, dates, labels, and everything that a person wrote in sentences: they could lead to a laboratory.
open-data-release = Release
open-data-never-released = It was not released yet.
open-data-released-at = Released on { $at } by { $by } under { $licence }.
open-data-again = The same package comes each time, with the same codes, less laboratories that withdrew. A new release has new codes and takes in laboratories that agreed since; do not publish both.
open-data-download = { $code }-open-data.zip
open-data-release-button = Release under this licence
open-data-release-again = Release anew, with new codes
field-licence = Licence
open-data-licence-cc-by = CC BY 4.0: free use that names the source
open-data-licence-cc0 = CC0 1.0: free use without conditions
open-data-licence-missing = Choose one of the licences; “{ $seen }” is none of them.

## Inside the package

open-data-notice-cc-by = Open data of round { $round }, released by { $provider }. This work is licensed under the Creative Commons Attribution 4.0 International License: it may be shared and adapted for any purpose as long as the source is named. The text of the licence is at { $address }
open-data-notice-cc0 = Open data of round { $round }, released by { $provider }. To the extent possible under law, { $provider } has waived all copyright and related or neighbouring rights to this work under CC0 1.0 Universal. The text is at { $address }
open-data-readme-title = Open data of round { $round }, an inter-laboratory comparison of { $provider }
open-data-readme-invented = These are demonstration data: everything in them is invented.
open-data-readme-what = The package holds { $count } laboratories that agreed to it, under codes that were drawn for it.
open-data-readme-files = Files:
open-data-table-laboratories = One line for each laboratory: its code in this package and its answers on the method.
open-data-table-results = One line for each reported value or “<”.
open-data-table-scores = One line for each scored result.
open-data-table-summary = One line for each measurand: statistics of the results in this package, and the value that was published.
open-data-table-decisions = One line for each decision on a measurand, or on a result of a laboratory in this package.
open-data-file-codebook = What each column of each table means.
open-data-file-schema = A JSON Schema (2020-12) of the lines of each table; an empty cell is null.
open-data-file-plan = The plan that the round was run by, without names.
open-data-file-licence = Under which terms the package may be used.
open-data-readme-format = Tables are CSV as RFC 4180 has it: UTF-8, commas, a decimal point, names of the columns in the first line. A text that a spreadsheet would compute begins with an apostrophe.
open-data-readme-codes = Codes of laboratories have nothing to do with those of the round, and their order tells nothing. Who holds the report of the round can find lines again by their numbers; the report names nobody.
open-data-readme-groups = No combination of answers on the method is that of fewer than five laboratories: “other” takes rare answers together, and “withheld” stands for combinations that few have, or that could be worked out from what was published of the round.
open-data-readme-value = Counts, means, medians and spreads of the summary are made from this package alone, so they differ from those of the report where laboratories are not in it. x_pt, its uncertainty and sigma_pt are those that were published, and scores are made with them.
open-data-readme-left-out = Not in the package:
open-data-column-laboratory = Code of the laboratory in this package; empty for a decision on a measurand.
open-data-column-enrichment = How the analytes are enriched; not_stated without an answer, other for rare answers, withheld where it is not told.
open-data-column-separation = How they are separated; not_stated, other and withheld as for enrichment.
open-data-column-detection = How they are detected; not_stated, other and withheld as for enrichment.
open-data-column-calibration = How it is calibrated; not_stated, other and withheld as for enrichment.
open-data-column-standard = Which internal standard is used; not_stated, other and withheld as for enrichment.
open-data-column-item = Label of the proficiency test item.
open-data-column-analyte = The analyte.
open-data-column-unit = The unit of all numbers of the line.
open-data-column-replicate = Number of the value in its result, from 1.
open-data-column-value = The reported value; empty for a “<”.
open-data-column-below = The limit of a “<”; empty for a value.
open-data-column-expanded-uncertainty = Expanded uncertainty U as reported, in the unit.
open-data-column-coverage-factor = Coverage factor k as reported.
open-data-column-counts = yes or no: whether the result counts in consensus and summary.
open-data-column-difference = Result less x_pt, in the unit.
open-data-column-difference-percent = The same in percent of x_pt.
open-data-column-z = z score (ISO 13528:2022, 9.4).
open-data-column-z-prime = z′ score (ISO 13528:2022, 9.5).
open-data-column-zeta = Zeta score (ISO 13528:2022, 9.6).
open-data-column-e-n = E_n score (ISO 13528:2022, 9.7).
open-data-column-bound = The largest score that a “<” can have.
open-data-column-class = none (acceptable), warning (questionable), action (unacceptable), information_only or not_scored.
open-data-scores-detection = Whether the analyte was found, and whether that is right: detected, not_detected, false_negative, correct, loq_not_met, false_positive or trace.
open-data-column-laboratories = Results in this package, counting or not.
open-data-column-quantified = Counting results with a value.
open-data-column-censored = Counting results below a limit.
open-data-column-excluded = Results that do not count.
open-data-column-mean = Arithmetic mean of the counting values.
open-data-column-median = Median of the counting values.
open-data-column-sd = Standard deviation of the counting values.
open-data-column-made = Scaled median absolute deviation, MADe (ISO 13528:2022, C.2.2).
open-data-column-niqr = Normalised interquartile range.
open-data-column-algorithm-a-mean = Robust mean x* of Algorithm A (ISO 13528:2022, C.3.1).
open-data-column-algorithm-a-sd = Robust standard deviation s* of Algorithm A.
open-data-column-x-pt = Assigned value, as published.
open-data-column-u-x-pt = Its standard uncertainty, as published.
open-data-column-basis = What the assigned value rests on: formulation, reference, expert or participants.
open-data-column-estimator = The estimator of a consensus.
open-data-column-sigma-pt = Standard deviation for proficiency assessment, as published.
open-data-column-warning-limit = Score above which a result is questionable.
open-data-column-action-limit = Score from which a result is unacceptable.
open-data-column-e-n-limit = E_n from which a result is unacceptable.
open-data-column-topic = What was decided on: result, homogeneity, stability, shape, consent or other.
open-data-column-decision = What was decided. Of a result: keep, blunder, invalid, withdrawn. Of a measurand: as_planned, add_uncertainty, add_sd, information_only, not_scored, consent.
open-data-column-reason = What spoke for a decision on a result, as a word of a closed list.
open-data-column-day = Whole days since the round opened.
