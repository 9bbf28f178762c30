# Questions to the organiser, and requests after closing.

# Questions
questions-title = Questions of round { $code }
questions-link-name = Questions
questions-link = { $open ->
    [0] Questions
    [one] Questions: one to answer
   *[other] Questions: { $open } to answer
}
questions-link-laboratory = Questions and answers
questions-lead = Ask the organiser here. Your question is shown without your name and your code, also to the organiser, and it is answered to all participants or not at all.
questions-lead-organiser = Nobody sees who asks. An answer goes to all participants with its question, or the question is closed without an answer; there is nothing in between.
questions-ask = Your question
questions-ask-hint = Write nothing that tells who you are, and no results: if it is answered, all participants read it as it stands.
questions-ask-button = Ask the organiser
questions-open = To answer
questions-none-open = No question waits for an answer.
questions-own-open = Your questions that wait for an answer
questions-asked-at = asked { $at }
questions-answer-link = Answer or close
questions-answered = Answered to all
questions-none-answered = No question has been answered yet.
questions-answered-at = answered { $at }
questions-closed = Closed without an answer
questions-own-closed = Your questions that were closed without an answer
questions-closed-at = closed without an answer { $at }
answer-title = Answer a question of round { $code }
answer-text = Answer
answer-hint = All participants of the round read question and answer. Neither can be changed afterwards.
answer-confirm = The number may be known to all participants: it tells nothing of a result or an assigned value
answer-consequence = The question is published as it stands. If it tells who asked, or asks for what nobody may know, close it.
answer-button = Publish to all participants
answer-close = Close without an answer
answer-close-hint = Only the laboratory that asked sees that its question was closed.
question-numbers = Question or answer contain { $seen }, a number with the unit of a concentration. It must not tell of a result or an assigned value. Change the answer, close the question, or confirm that the number may be known to all.
question-close-with-text = An answer is typed here, and closing would drop it. Publish it, or delete the text and close.
conflict-question = This question was answered or closed already. An answer cannot be changed.
field-question = Your question
field-answer = Answer
field-numbers = Number to be published
done-question-asked = The organiser sees your question, without your name.
done-question-answered = The answer is published to all participants.
done-question-closed = The question is closed without an answer.
event-question-asked = A question was asked
event-question-answered = A question was answered to all participants
event-question-closed = A question was closed without an answer

# The message that a question was answered
mail-subject-answer = { $provider }: a question on { $title } was answered
mail-body-answer =
    Dear { $name },

    a question on round { $code }, { $title }, was answered to all participants. Question and answer stand here:

    { $link }
message-kind-answer = Answer to a question

# Requests after closing
requests-title = Requests after closing, round { $code }
requests-link-name = Requests
requests-link = { $open ->
    [0] Requests
    [one] Requests: one to decide
   *[other] Requests: { $open } to decide
}
requests-link-laboratory = Requests after closing
requests-lead = Results are not taken any more. You can still tell the organiser that something was wrong. By the rules of the scheme this changes nothing that was sent and no score; the organiser answers with a decision and its reason.
requests-lead-organiser = A request changes nothing that was sent, and no decision on it does. All are recorded.
requests-early = As long as results are taken, no request is needed: send a new version, which takes the place of the earlier one.
requests-early-link = To your results
requests-all = Requests
requests-own = Your requests
requests-none = No laboratory has made a request.
request-kind-choose = Choose
request-kind-correction = Correction of a result
request-kind-late = Result sent late
request-kind-other = Something else
request-kind-missing = Nothing is chosen. Choose what the request is about.
request-reason-hint = What happened, in which item, and since when you know.
request-button = Send the request
request-made-at = made { $at }
request-ruled-at = decided { $at }
request-waits = Waits for a decision of the organiser.
request-decide-link = Decide
request-rule-correction = By the rules of the scheme, a laboratory’s results are not changed after closing, whatever the reason; they are scored as they were sent (ISO 13528, 6.3).
request-rule-late = By the rules of the scheme, no result is taken after closing (ISO/IEC 17043, 7.2.1).
request-rule-other = By the rules of the scheme, no result is taken after closing, and none that was sent is changed.
request-ruling-not-accepted = Not accepted.
request-ruling-transcription-fault = Acknowledged: a transcription fault of the organiser, recorded with its evidence.
request-choice-not-accepted = Not accepted, by the rule above
request-choice-transcription-fault = Our own transcription fault: we copied wrongly what the laboratory had sent
request-ruling-missing = Nothing is chosen. Choose a decision.
request-evidence-missing = The evidence is missing. Say what shows that the fault was the organiser’s: the sheet or message, its date, and what was copied wrongly.
ruling-title = Request of laboratory { $code }
ruling-evidence-hint = For a transcription fault: what shows it. Otherwise what else the laboratory is to know; may be empty. The laboratory reads it.
ruling-consequence = The decision is recorded and shown to the laboratory. It does not change any result, and it cannot be changed.
ruling-button = Decide
field-kind = What it is about
field-ruling = Decision
field-evidence = Evidence or reason
conflict-request = This request was decided already. A decision cannot be changed.
conflict-request-early = Results are still taken in this round: send a new version instead of a request.
done-request-made = The organiser has your request.
done-request-ruled = The decision is recorded, and the laboratory sees it.
event-request-made = A request after closing was made: { $detail }
event-request-ruled = A request after closing was decided: { $detail }
requests-ask-colleague = You may not send for your laboratory, and so not make a request. Ask a colleague who may send.
