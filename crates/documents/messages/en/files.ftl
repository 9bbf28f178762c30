# Spreadsheet files: templates, uploads, exports.

## Uploading

upload-template-xlsx = Template to fill in (.xlsx)
upload-template-csv = Template to fill in (CSV)
results-upload-link = Report by file: CSV or .xlsx
results-upload-title = Results by file: round { $code }
results-upload-lead = Fill in the template, which has a line for each measurand of this round, and upload it here. Nothing is sent by this: you check everything first.
results-upload-after = The lines of the file take the place of what is typed for the same measurands; lines without a result change nothing. If anything in the file is wrong, nothing of it is taken, and all of it is listed.
results-file-hint = A CSV or .xlsx file with the columns item, analyte, unit and result; where wanted result_2 and so on, expanded_uncertainty with uncertainty_form (absolute or percent), coverage_factor, loq, state and reason.
entry-form-label = How U of { $analyte } is given
u-as-row-none = as for the item
u-as-row-absolute = in the unit
u-as-row-percent = in percent

## The second sheet of templates

file-sheet-table = Table
file-sheet-how = How to fill in
file-how-heading = How to fill in the table
file-how-example = The line below the names of the columns is an example. Replace it by your own lines. Keep the names of the columns; those that you do not need may be deleted.
file-how-assigned = Each line is a measurand of the round. Fill in x_pt, then u_x_pt or U_x_pt with k, then sigma_pt or sigma_pt_percent, and where wanted route. For a consensus of participants choose an estimator as route; x_pt is then empty, or what to fall back on. Lines that you delete change nothing.
file-how-results-heading = How to report the results of round { $code }
file-how-results = Each line is a measurand of the round. Leave item, analyte and unit as they are. Lines that you leave empty or delete change nothing.
file-how-numbers = Write numbers with a point or a comma as the decimal sign, and thousands without a mark: 1250.5. Digits are kept as typed. A number such as 1,250 has two readings and is not taken.
file-how-cells = Type into the cells as they are: they are formatted as text, so that no number turns into a date. Dates, percentages and formulas are not taken; copy computed numbers, round them, and paste them as values.
file-how-below = Below your limit, write < and the limit into the column result: <25. Zero is not a result.
file-how-uncertainty = expanded_uncertainty is U, and uncertainty_form says how it is given: absolute (in the unit of the result) or percent (of the result). coverage_factor is k, such as 2. loq is your limit of quantification, in the unit of the result.
file-how-state = state may stay empty beside a result. Without one, write identified (seen, not quantified), or not_analysed or failed, and in the column reason one of these words:

## Results and scores as files

file-sheet-about = About
file-results = Results
file-scores = Scores
file-results-own = Your newest version as a file:
file-results-xlsx = Results (.xlsx)
file-results-csv = Results (CSV)
file-scores-xlsx = Scores (.xlsx)
file-scores-csv = Scores (CSV)
file-results-explained = One line for each laboratory and measurand, from the newest version that was sent. typed is what was typed, letter by letter; value, limit, expanded_uncertainty and loq are in the unit of the line, and value is the mean where there are several.
file-scores-explained = One line for each scored result. Numbers in the unit of the line; x_pt, u_x_pt and sigma_pt as published; scores with all their digits, from which the class was decided.
