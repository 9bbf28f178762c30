# Pastes and files of results: what they would change, before it is changed.

## Pasting

paste-link = Paste a block from a spreadsheet
paste-title = Paste results for item { $item }, round { $code }
paste-lead = Copy cells in the spreadsheet and paste them here. You see what would change before anything does.
paste-block = Block of cells
paste-block-hint = With the names of analytes beside the numbers, or with the names of columns of the template above them, the order does not matter.
paste-start = Where a block without names begins
paste-start-row = Row
paste-start-part = Column
paste-button = Show what would change
paste-missing = There is nothing in the field. Copy cells in the spreadsheet, and paste them here.
paste-not-saved = The block was not pasted, because what is typed could not be saved first. Check the connection and paste it again.
part-v1 = Value
part-v2 = Value 2
part-v3 = Value 3
part-v4 = Value 4
part-u = U
part-k = k
part-loq = LOQ
part-u-as = How U is given
part-state = State
part-reason = Reason
part-k-all = k for all rows
part-unit = Unit

## What would change

proposal-title-paste = What the pasted block would change: round { $code }
proposal-title-file = What the file would change: round { $code }
proposal-title-paste-taken = What the pasted block has changed: round { $code }
proposal-title-file-taken = What the file has changed: round { $code }
proposal-changed-table = Fields that were changed
proposal-before-taken = Before
proposal-after-taken = Since then
proposal-file = File { $name }
proposal-lead = Nothing has been changed yet.
proposal-matched-columns = Cells were matched by the names of the columns.
proposal-matched-analytes = Cells were matched by the names of the analytes.
proposal-matched-place = Cells were matched by their place, because no names stand beside them. Compare them with the analytes.
proposal-count = { $count ->
    [one] One field would change.
   *[other] { $count } fields would change.
}
proposal-none = Nothing would change: every text is as it stands already.
proposal-unchanged = { $count ->
    [one] One row has the texts that stand there already.
   *[other] { $count } rows have the texts that stand there already.
}
proposal-wrong = { $count ->
    [one] One field is taken as it is and marked, because it cannot be read. The form shows it and asks.
   *[other] { $count } fields are taken as they are and marked, because they cannot be read. The form shows them and asks.
}
proposal-unit-missing = The unit of your numbers is not chosen yet; the form asks for it. The round uses { $unit }.
proposal-moved = { $count ->
    [one] One row stands in another place than in the form: { $names }. Each was put where its name belongs.
   *[other] { $count } rows stand in other places than in the form: { $names }. Each was put where its name belongs.
}
proposal-limits-heading = Rows may have slipped
proposal-limits = These limits of quantification differ from those that you have in your other items for the same analytes. If rows slipped while they were copied, leave everything as it is and copy them again.
proposal-limits-line = { $analyte } in item { $item }: LOQ { $typed }, and { $others }
proposal-limits-other = { $typed } in item { $item }
proposal-outside-heading = { $count ->
    [one] One cell is not taken
   *[other] { $count } cells are not taken
}
proposal-outside-table = Cells that are not taken
proposal-outside-line = Line
proposal-outside-column = Column
proposal-outside-more = { $count ->
    [one] One more cell is not taken.
   *[other] { $count } more cells are not taken.
}
proposal-changes-table = Fields that would change
proposal-all = all items
proposal-field = Field
proposal-before = Now
proposal-after = Then
proposal-understood = Read as
proposal-nothing = empty
proposal-below = below { $value } { $unit }
proposal-converted = { $here } = { $there }
proposal-value = { $value } { $unit }
proposal-percent = { $value } %
proposal-take = Take over
proposal-leave = Leave as it is
proposal-taken = The texts were taken over on { $at }. Nothing has been sent.
proposal-undone = Taking over was undone on { $at }.
proposal-undo = Undo
proposal-undo-hint = This brings back what stood in the fields before, where nobody has typed something else since.
proposal-to-item = On to item { $item }
proposal-to-check = On to checking everything
proposal-upload-again = Choose another file
done-proposal-taken = Taken over. Nothing has been sent yet.
done-proposal-left = Everything was left as it is.
done-proposal-undone = Undone: the fields have the texts from before.
done-proposal-undone-part = Undone, but for fields that somebody has changed since.

## A refused file

refused-file-link = Your file with the errors in a column
refused-file-hint = A column called errors says beside each line what is wrong. Correct the lines and upload the file again; the column may stay. It can be fetched for an hour, by your laboratory only.
refused-file-utf8 = It is coded in UTF-8.
