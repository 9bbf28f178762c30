# The pages of a round's report: what is missing, what people write, issuing it.

reports-link = Report
reports-link-laboratory = Report of the round
reports-title = Report on { $code }
reports-complete = Everything that a final report must have is there.
reports-incomplete = { $count ->
    [one] One thing is missing for a final report. It is marked below.
   *[other] { $count } things are missing for a final report. They are marked below.
}
reports-contents = Contents of the report
reports-present = Ready
reports-missing = Missing
reports-not-applicable = Not applicable
reports-write = Write
reports-texts-link = Write below
reports-texts = Comments
reports-texts-hint = Each heading needs a text, or the reason why it is not applicable. The newest text counts; earlier ones stay on record.
reports-text-open = Open
reports-text-written = Written
reports-text-by = Written { $at } by { $by }.
reports-text = Text
reports-text-hint = An empty line begins a new paragraph. Do not name laboratories; a code tells those who know it whose result is meant.
reports-text-not-applicable = Or why it is not applicable
reports-text-not-applicable-hint = One sentence, in place of a text.
reports-text-confirm = These codes are meant to stand in the report
reports-text-button = Save
reports-heading-expectation = Against what was expected
reports-heading-expectation-hint = How the laboratories as a whole performed against what the plan expected of them.
reports-heading-variation = Within and between laboratories
reports-heading-variation-hint = How results varied within laboratories and between them.
reports-heading-earlier = Against earlier rounds and published precision
reports-heading-earlier-hint = What changed against earlier rounds, and how the spread compares with published data of precision.
reports-heading-methods = Between methods
reports-heading-methods-hint = What differs between groups of methods. It is an observation, not a proof.
reports-heading-errors = Sources of error
reports-heading-errors-hint = What may have caused extreme results and the most frequent mistakes.
reports-heading-advice = Advice to participants
reports-heading-advice-hint = What laboratories can do better.
reports-heading-unusual = Unusual factors
reports-heading-unusual-hint = Anything out of the ordinary that makes it hard to judge the results.
reports-heading-conclusions = Conclusions
reports-heading-conclusions-hint = What follows from the round.
reports-heading-items = Items: what is not on record
reports-heading-items-hint = Where matrix, homogeneity or stability is not recorded here: what is known, and from where.
reports-heading-recommendations = Recommendations
reports-heading-recommendations-hint = Next levels, hints on methods, and what the provider would like to hear.
reports-issue = Issue
reports-status = Status of the report
reports-issue-preliminary = Preliminary
reports-issue-preliminary-hint = For the staff, before publication. It says on every page that it may change.
reports-issue-interim = Interim
reports-issue-interim-hint = For the laboratories of the round while the final report is not ready; while a correction is open, for the staff only. It says on every page that it may change.
reports-issue-final = Final
reports-issue-final-hint = For the laboratories of the round. It cannot be edited afterwards, only replaced by a corrected one.
reports-issue-corrected = Corrected
reports-issue-corrected-hint = Takes the place of the report that holds now, which stays readable with the mark “superseded”.
reports-reason = Why it is corrected
reports-reason-hint = One or two sentences, without codes. They are printed in the report and go to all laboratories of the round, with what changed.
reports-reason-was = Reason: { $reason }
reports-told = { $laboratories ->
    [one] One laboratory was told
   *[other] { $laboratories } laboratories were told
}{ $messages ->
    [0] {" "}on the page of the round; no mail was set up.
    [one] {" "}on the page of the round and by one message.
   *[other] {" "}on the page of the round and by { $messages } messages.
}
reports-notice-heading = Report corrected
reports-notice = Version { $version } of the report took the place of version { $replaces } on { $at }.
reports-notice-nothing = No assigned value and no class changed.
reports-notice-new = Report, version { $version }
reports-notice-old = Version { $version }, superseded
reports-issue-button = Issue the report
reports-organiser-issues = The organiser issues reports.
reports-issued = Issued reports
reports-none = No report has been issued yet.
reports-version = Version { $version }, { $status }
reports-issued-by = Issued { $at } by { $by }.
reports-others = Other versions
reports-draft = This is a draft of the report as it could be issued now. It has not been issued.
reports-draft-page = Draft as a page
reports-draft-pdf = Draft as PDF
reports-draft-pdf-german = Draft as PDF in German
reports-pdf = Report as PDF
reports-pdf-german = PDF in German
reports-sha256 = SHA-256 of its content:
reports-sheets-link = Method sheets
sheets-title = Methods of evaluation
sheets-lead = What each method does, by which formula and from which source. The sheets are made from the documentation of the program that computes the numbers, so they say what it does.
done-report-issued = The report is issued.
done-report-text = The text is saved.
event-report-issued = Report { $detail } was issued
event-report-text = Text for the report was written: { $detail }
field-confirmed = Codes
field-not-applicable = Not applicable
field-status = Status

report-said-nothing = Write a text, or say below why this heading is not applicable.
report-said-both = There is a text and a reason why it is not applicable. Keep one of them.
report-said-codes = { $count ->
    [one] The code { $codes } of a laboratory stands in it. Take it out, or confirm that it is meant.
   *[other] Codes of laboratories stand in it: { $codes }. Take them out, or confirm that they are meant.
}
report-missing-provider = The provider has no name. It is set when the service is set up.
report-missing-contact = The provider has no contact. It is set when the service is set up.
report-missing-coordinator = The plan does not say who coordinates. Fill “provider and coordinator” in the plan.
report-missing-authorised = Nobody has authorised it: approve all measurands and publish the round.
report-missing-external = The plan does not say what others do. Fill that heading in the plan.
report-missing-publicity = The plan does not say how far results become public. Fill that heading in the plan.
report-missing-plan = The round has no plan that two persons signed.
report-missing-production = The plan does not say how items are made. Fill that heading in the plan.
report-missing-matrix = { $count ->
    [one] Item { $names } has no matrix on record. Write under “Items: what is not on record” what it is.
   *[other] { $count } items have no matrix on record, among them { $names }. Write under “Items: what is not on record” what they are.
}
report-missing-studies = { $count ->
    [one] No study of homogeneity or stability is kept for { $names }. Record it, or write under “Items: what is not on record” what is known.
   *[other] No study of homogeneity or stability is kept for { $count } measurands, among them { $names }. Record them, or write under “Items: what is not on record” what is known.
}
report-missing-results = No laboratory sent results.
report-missing-evaluation = There is no evaluation that holds all decisions. Evaluate the round.
report-missing-traceability = The plan does not say how assigned values are traceable. Fill that heading in the plan.
report-missing-sigma = { $count ->
    [one] { $names } is to be scored and has no standard deviation for proficiency assessment. Set it, or decide on the measurand.
   *[other] { $count } measurands are to be scored and have no standard deviation for proficiency assessment, among them { $names }. Set it, or decide on them.
}
report-missing-timetable = The plan has no timetable. Fill that heading in the plan.
report-missing-recommendations = Recommendations are not written.
report-missing-comment-expectation = Not written: against what was expected.
report-missing-comment-variation = Not written: within and between laboratories.
report-missing-comment-earlier = Not written: against earlier rounds and published precision.
report-missing-comment-methods = Not written: between methods.
report-missing-comment-errors = Not written: sources of error.
report-missing-comment-advice = Not written: advice to participants.
report-missing-comment-unusual = Not written: unusual factors.
report-missing-comment-conclusions = Not written: conclusions.
report-no-method-questions = The round did not ask how laboratories work.
report-not-preliminary = The round is published; a preliminary report is for the time before.
report-not-interim = An interim report is for the time between publication and the final report, or while a correction is open.
report-not-published = A final report is issued after the round is published, and not while a correction is open.
report-final-is-there = There is a final report already. It can be replaced by a corrected one.
report-nothing-to-correct = There is no final report that could be corrected.
report-incomplete = { $count ->
    [one] A final report cannot be issued yet: one thing is missing.
   *[other] A final report cannot be issued yet: { $count } things are missing.
}
report-reason-codes = The reason goes to all laboratories by mail and must name none of them: { $codes }. Say it without codes.
report-issued-meanwhile = Another report was issued at the same time. Look at the list and try again.
reports-outdated = What this report says was corrected since it was issued: on { $day } publication { $number } took the place of the one before, because: { $reason }
reports-outdated-issue = Issue a corrected report: everybody who has this one is told.
reports-outdated-read = Scores and certificates hold the corrected values; a corrected report has not been issued yet.
