# Texts of problems: what is wrong, with the value seen, then what to do.

## Numbers

problem-number-empty = The field is empty. Type a number, such as 12.5, or < and your limit, such as <5.
problem-number-long = “{ $seen }” has more than { $limit } characters. Type the number alone, such as 12.5.
problem-number-ambiguous = “{ $seen }” can be read as { $first } or as { $second }. Choose the one that you mean.
problem-number-zero = “{ $seen }” is zero, which no measurement can show. Type < and your limit of quantification, such as <5.
problem-number-negative = “{ $seen }” is negative, and this measurand has no negative results. Type < and your limit of quantification, such as <5.
problem-number-limit-without-number = “{ $seen }” has no number behind the <. Type < and your limit of quantification, such as <5.
problem-number-limit-not-positive = “{ $seen }” has a limit that is not above zero. Type < and your limit of quantification, such as <5.
problem-number-greater = “{ $seen }” says that the result lies above a number, which this round cannot use. Dilute and report the value, or choose “not analysed”.
problem-number-comparison = “{ $seen }” begins with a sign that has no meaning here. Type a number, such as 12.5, or a single < and your limit, such as <5.
problem-number-word = “{ $seen }” is a word in the place of a number. Type < and your limit of quantification, such as <5, or choose “not analysed”.
problem-number-dash = “{ $seen }” does not say whether the analyte was looked for. Type < and your limit of quantification, such as <5, or choose “not analysed”.
problem-number-not-a-number = “{ $seen }” is what a program writes when a calculation failed. Type the number itself, such as 12.5.
problem-number-formula = “{ $seen }” is a formula. Type its result, such as 12.5.
problem-number-letters = “{ $seen }” has letters in it. Type the number alone, such as 12.5; the unit stands beside the field.
problem-number-percent = “{ $seen }” has a percent sign. Type the number alone, such as 12.5.
problem-number-plus-minus = “{ $seen }” holds a value and an uncertainty. Type the value here, such as 12.5, and the uncertainty in its own field.
problem-number-digits = “{ $seen }” has digits of another script or width. Type the digits 0 to 9, such as 12.5.
problem-number-two-separators = “{ $seen }” has more than one point or comma. Write the decimal sign only, and thousands without a mark: 1250.5.
problem-number-grouping = “{ $seen }” has a space or an apostrophe that does not mark full groups of three digits. Write the number without marks: 1250.5.
problem-number-digit-missing = “{ $seen }” has no digit on one side of the decimal sign. Write a digit on both sides: 0.5 or 5.0.
problem-number-sign = “{ $seen }” has a plus or minus sign inside or more than one in front. Write one number with at most one sign in front: 12.5.
problem-number-exponent = “{ $seen }” has no whole number behind the e. Write the exponent as in 1.5e-3, or write the number out: 0.0015.
problem-number-exponent-range = “{ $seen }” has an exponent beyond { $limit }. Check the number and the unit.
problem-number-character = “{ $seen }” has the character { $character } in it. Type the number alone, such as 12.5.
problem-number-limit-not-expected = “{ $seen }” has a < or > in front. Type one number, such as 12.5.
problem-number-not-positive = “{ $seen }” is not above zero. Type a number above zero, such as 12.5.
problem-number-below-zero = “{ $seen }” is negative. Type zero or a number above zero, such as 12.5.
problem-number-above-hundred = “{ $seen }” is above 100 percent. Type a percentage above 0 and up to 100, such as 25.
problem-whole-number = “{ $seen }” is not a whole number from { $least } to { $most }. Type one of these, such as { $least }.

## E-mail addresses

problem-email-empty = There is no e-mail address. Type one, such as results@laboratory.example.
problem-email-long = The address “{ $seen }” has more than { $limit } characters. Type a shorter address of the laboratory.
problem-email-several = “{ $seen }” holds more than an address. Type one address without name, spaces, commas or semicolons, such as results@laboratory.example.
problem-email-form = “{ $seen }” is not an e-mail address. Type one with a name, an @ and a host, such as results@laboratory.example.
problem-email-character = “{ $seen }” has letters that not every mail server takes. Type an address of the letters a to z, digits and signs, such as results@laboratory.example.

## Codes

problem-code-empty = There is no laboratory code. Type the six characters that the invitation shows.
problem-code-character = “{ $seen }” has the character “{ $character }”, which no laboratory code has. Compare it with the code in the invitation; codes have no vowels and none of 0, 1, B, G, L, Q, S and Z.
problem-code-length = “{ $seen }” has { $count ->
        [one] one character
       *[other] { $count } characters
    }, and a laboratory code has { $expected }. Compare it with the code in the invitation.
problem-code-check = “{ $seen }” is not a laboratory code: one character is wrong or two are exchanged. Compare it with the code in the invitation.
problem-round-code-empty = The round has no code. Type one of letters, digits and hyphens, such as QW-1.
problem-round-code-character = “{ $seen }” has the character “{ $character }”, which cannot stand in the address of a page. Use letters from A to Z, digits and hyphens, such as QW-1.
problem-round-code-long = “{ $seen }” has more than { $limit } characters. Type a shorter code, such as QW-1.
problem-round-code-hyphen = “{ $seen }” begins or ends with a hyphen. Put hyphens between letters or digits, as in QW-1.
problem-round-code-reserved = “{ $seen }” is the address of the page for new rounds. Type another code, such as QW-1.

## Cells of files

problem-cell-empty = The cell of the column { $column } is empty. Fill it in, or delete the whole line.
problem-cell-long = “{ $seen }” has more than { $limit } characters. Shorten it.
problem-file-number-ambiguous = “{ $seen }” can be read as { $first } or as { $second }. Write { $write } in the file for the first and { $second } for the second.
problem-file-measurand-twice = Lines { $first } and { $second } both name { $analyte } in item { $item }. Delete one of them.
problem-file-item-unknown = The round has no item “{ $item }”. Use one of its items: { $known }.
problem-file-analyte-unknown = Item { $item } of the round has no analyte “{ $analyte }”. The nearest name that it has is “{ $nearest }”: write the name as the round has it, or delete the line.
problem-file-unit = The round has { $expected }, the file “{ $seen }”. Convert the numbers of this line and write { $expected } as the unit.
problem-file-x-missing = The line has { $column } but no x_pt. Fill in x_pt, or empty { $column }.
problem-file-percent-of-nothing = sigma_pt_percent is a percentage of x_pt, and x_pt is { $seen }. Give sigma_pt in the unit of the measurand, or correct x_pt.
problem-file-uncertainty-both = The line has both u_x_pt and U_x_pt. Keep u_x_pt alone, or U_x_pt with k.
problem-file-uncertainty-missing = The line has no uncertainty of x_pt. Fill in u_x_pt, or U_x_pt with k.
problem-file-k-missing = The line has U_x_pt without k. Fill in the coverage factor k, such as 2.
problem-file-k-alone = The line has k, which belongs to U_x_pt, beside u_x_pt. Empty k, or give U_x_pt in the place of u_x_pt.
problem-file-sigma-both = The line has both sigma_pt and sigma_pt_percent. Keep one of them.
problem-file-sigma-missing = The line has no standard deviation for proficiency assessment. Fill in sigma_pt or sigma_pt_percent.
problem-file-word = “{ $seen }” is not a word of this column. Write one of these, or leave the cell empty: { $words }.
problem-file-uncertainty-form = Nothing says how the uncertainty is given. Write absolute (in the unit of the result) or percent in the column uncertainty_form.
problem-file-replicate = The round asks for { $count ->
        [one] one value
       *[other] { $count } values
    } of this analyte. Empty this cell.
problem-file-expressed-as = The round asks for results expressed as { $expected }, and the file says “{ $seen }”. Convert the numbers of this line, and write { $expected }.
problem-file-results-none = No line of the file has a result. Fill in the column result, or state and reason, for what you report.
problem-item-code-form = “{ $seen }” is not a code as labels of items show it: a character is wrong, missing or exchanged. Compare it with the label of your vial of item { $item }.
problem-item-code-other-item = “{ $seen }” stands on your vial of item { $other }, and this line is of item { $item }. Make sure which vial was measured, then correct code or item.
problem-item-code-foreign = “{ $seen }” stands on none of the vials that were sent to you. Make sure that the results are yours, and write the code that your vial of item { $item } shows.
problem-file-route = “{ $seen }” is not a way to an assigned value. Write formulation, reference or expert, or leave the cell empty.
problem-file-laboratory-twice = Lines { $first } and { $second } both have the name “{ $seen }”. Delete one of them, or name the site as well.
problem-file-email-twice = Lines { $first } and { $second } both have the address { $seen }. Delete one of them, or give each laboratory its own address.

## Pasted blocks

problem-block-empty = There is nothing to paste. Copy cells in the spreadsheet, and paste them into the field.
problem-block-row = The form has { $count ->
        [one] one row
       *[other] { $count } rows
    }, and this row of the block lies below its last one. Begin further up, or copy fewer rows.
problem-block-column = The form has no column here. Copy fewer columns, or begin further to the left.
problem-block-column-unknown = The form has no column “{ $column }”. Nothing is taken from it.
problem-block-unit = Your numbers are in { $expected }, and this row says “{ $seen }”. Convert the row, or change the unit of all your numbers.
problem-block-unnamed = The row names no analyte, so it belongs to none. Write the name beside it, or leave the row out.
problem-block-left = The row is not taken, for the reason given at one of its cells.

## Files as a whole

problem-file-large = The file has { $size } bytes, and at most { $limit } are read. Split it into several files.
problem-file-binary = The file is not a table but of the kind { $kind }. Open it in the program that made it and save it as CSV or .xlsx.
problem-file-old-workbook = The file is an .xls workbook, or a password protects it. Open it in the spreadsheet program, take the password away, and save it as .xlsx or CSV.
problem-file-ods = The file is an OpenDocument, of which tables are not read here. Open it in the program that made it and save it as .xlsx or CSV.
problem-file-markup = The file is a web page or another document of tags, whatever its name says. Open it in the spreadsheet program and save it as .xlsx or CSV.
problem-file-not-workbook = The file is an archive but no workbook of the kind .xlsx. Open it in the program that made it and save it as .xlsx or CSV.
problem-file-workbook-broken = The workbook is damaged or not written as an .xlsx file must be. Open it in the spreadsheet program and save it again as .xlsx, or save it as CSV.
problem-file-workbook-large = The workbook unpacks to more than { $limit } MB or has more sheets, cells or texts than are read. Copy the table alone into a new workbook, or save it as CSV.
problem-file-workbook-entries = The workbook holds { $count } parts, and at most { $limit } are read. Copy the table alone into a new workbook, or save it as CSV.
problem-file-sheet-none = The workbook has no visible sheet with cells. Show the sheet that holds the table, and save the file again.
problem-file-sheet-header = None of the sheets { $sheets } has a line of column names that begins the table. Write these names into the first line of a sheet: { $columns }.
problem-file-more = More is wrong than the { $count } places listed here. Correct these first, and send the file again.
problem-file-encoding = The file says that it is coded as { $encoding }, but some of its bytes are not. Save it again as CSV in UTF-8.
problem-file-null = The file has a NUL character here, which no text has. Save it again as CSV in UTF-8.
problem-file-empty = The file is empty. Begin with the line of column names that the template shows.
problem-file-no-rows = The file has column names but no lines below them. Fill in one line for each entry.
problem-file-rows = The file has more than { $limit } lines below the column names. Split it into several files.
problem-file-columns = The line of column names has { $count } cells, and at most { $limit } are read. Delete the columns that the template does not show.
problem-file-quote-open = A quotation mark opens here and never closes. Close it, or write it twice where it belongs to the text.
problem-file-quote-inside = Something stands behind the closing quotation mark of “{ $seen }”. Write a quotation mark inside a text twice, or delete it.
problem-file-title = The first line, “{ $seen }”, is a title and not the column names. Delete the lines above the column names.
problem-file-header-lower = The column names stand in line { $line }, and not in the first line. Delete the lines above it.
problem-file-header-twice = The column names of line { $first } stand here once more. Delete this line.
problem-file-column-unnamed = Column { $number } has no name. Give it a name that the template shows, or delete it.
problem-file-column-twice = Columns { $first } and { $second } are both called { $column }. Delete or rename one of them.
problem-file-column-unknown = “{ $column }” is not a column of this kind of file. Delete it, or use one of these names: { $known }.
problem-file-column-missing = The column { $column } is missing. Add it with exactly this name, as the template shows it.
problem-file-ragged = This line has { $count ->
        [one] one cell
       *[other] { $count } cells
    }, and the line of column names has { $expected }. Check the separators, and put a text that holds one in quotation marks.
problem-file-cell-long = “{ $seen }” has more than { $limit } characters. Shorten it.
problem-file-formula = “{ $seen }” is a formula or looks like one to a spreadsheet. Replace it by its value, and begin no cell with =, @, + or - but numbers.
problem-file-formula-cell = The cell holds a formula, and only what stands in a cell itself is taken. Copy the cells and paste them as values.
problem-file-date = “{ $seen }” is a date or time to the spreadsheet, which may have turned a number such as 1.5 into one. Format the cell as text and type anew what is meant.
problem-file-truth = “{ $seen }” is a truth value of the spreadsheet. Format the cell as text and type anew what is meant.
problem-file-percent-cell = The cell shows { $seen } and holds { $held }. Format it as text and type the number that is meant, without a percent sign.
problem-file-digits = The cell holds { $seen }, which has more digits than a spreadsheet shows of a typed number. Round it to the digits that you report, at most { $rounded }, and paste it as a value.
problem-file-error-value = “{ $seen }” is an error of a spreadsheet. Correct the calculation, and save the file again.
problem-file-control = “{ $seen }” holds a line break or a character that cannot be shown. Type the cell anew.

## Forms of rounds, items and measurands

text-missing = The field is empty. Fill it in.
text-too-long = The text has { $count } characters, and at most { $limit } are kept. Shorten it.
text-control = The text holds a character that cannot be shown. Delete it and type the text anew.
date-form = “{ $seen }” is not a date. Write year, month and day, such as 2027-03-31.
time-form = “{ $seen }” is not a time of day. Write hours and minutes, such as 14:00.
zone-unknown = “{ $seen }” is not a known time zone. Write one such as Europe/Vienna or UTC.
deadline-past = { $seen } lies in the past at this time of day. Choose a later deadline.
deadline-gap = On { $date } the clocks of { $zone } are put forward, and { $time } does not exist. Choose another time.
deadline-fold = On { $date } the clocks of { $zone } are put back, and { $time } comes twice. Choose another time.
deadline-far = { $seen } is more than five years ahead. Choose an earlier deadline.
item-label-form = “{ $seen }” cannot be the label of an item. Use up to 12 letters from A to Z, digits and hyphens, such as A or B-2.
item-unknown = The round has no item “{ $seen }”. Choose one of its items.
count-range = “{ $seen }” is not a whole number from { $least } to { $most }. Type one of these, such as { $least }.

## The plan of a measurand

plan-absent-needs-limit = Neither a content below which the analyte is proven absent nor a limit of quantification asked for is given. Fill in one of them.
plan-route-missing = Nothing says how the assigned value is found. Choose one of the ways.
plan-two-uncertainties = Both a standard and an expanded uncertainty are given. Keep one of them.
plan-uncertainty-missing = The assigned value has no uncertainty. Fill in the standard uncertainty, or the expanded one with its factor.
plan-horwitz-unit = “{ $unit }” is not a mass fraction, so the Horwitz function cannot be used. Prescribe the standard deviation, or give it in percent.
plan-sigma-missing = Nothing says how the standard deviation for proficiency assessment is found. Choose one of the ways.
plan-sigma-too-wide = Twice this standard deviation is as much as the assigned value, so no low result could ever be judged. Give a smaller one.

## The form of results

state-unknown = “{ $seen }” is not a state of a result. Choose value, below the limit, identified, not analysed or failed.
result-empty = Nothing is typed in this row. Type a value or a limit, or choose “not analysed” or “failed” with its reason.
result-value-missing = The row has no value. Type it, such as 12.5, or choose another state.
result-limit-missing = The row is marked as below a limit, but has no limit. Type it, such as <5.
result-value-and-state = The row holds “{ $seen }” and is marked as having no result. Delete the number, or choose another state.
result-reason-missing = The row has no result and no reason. Choose a reason from the list.
result-state-contradicts = The row is marked as a value, but a limit is typed. Choose “below the limit”, or type the value.
result-one-limit = The row has more than one limit. Keep one of them and empty the other fields.
result-mixed = The row has both values and limits. Give values only, or one limit.
result-limit-with-uncertainty = A limit has no uncertainty. Empty the field, or type a value in the place of the limit.
result-factor-alone = The row has a coverage factor but no uncertainty. Type the uncertainty, or empty the factor.
result-uncertainty-form = Nothing says how the uncertainties of item { $item } are given. Choose “in the unit of the result” or “in percent of the result”.
protocol-missing = Name the protocol that all laboratories follow: a precision belongs to one method. Choose “No” where each uses its own.
