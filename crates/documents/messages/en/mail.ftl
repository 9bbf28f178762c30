# Messages by mail, and the page that shows what was sent.

# Subjects: never a code of a laboratory, never a result.
mail-subject-invitation = { $provider }: invitation to { $title }
mail-subject-reminder = { $provider }: results are missing for { $title }
mail-subject-receipt = { $provider }: receipt for { $title }
mail-subject-publication = { $provider }: scores published for { $title }

mail-subject-deadline = { $provider }: later deadline of { $title }

# Texts: mail is not private, so no result, no score and no code of a laboratory.
mail-body-invitation =
    Dear colleagues,

    { $provider } invites { $laboratory } to take part in round { $code }: { $title }.

    Deadline for results: { $deadline }.

    Make the account of your laboratory at this address. It makes one account, within { $days } days:

    { $link }

    Whoever has this address can act for your laboratory, so please do not pass this message on. If you did not expect it, you need not do anything.
mail-body-reminder =
    Dear { $name },

    no results of { $laboratory } have been sent yet for round { $code }: { $title }.

    { $late ->
        [no] Deadline for results: { $deadline }.
       *[yes] The deadline was { $deadline }. Results are still taken for 48 hours after it, unless the round is closed before; they are marked as late.
    }

    Enter results and send them here:

    { $link }
mail-body-receipt =
    Dear { $name },

    results of { $laboratory } for round { $code }, { $title }, were received.

    Reference: { $reference }
    Version: { $version }
    Received: { $at }
    SHA-256: { $sha256 }
    Key: { $key }
    Signature: { $signature }
    { $late ->
        [no] They came before the deadline.
       *[yes] They came after the deadline and are marked as late.
    }

    This is the receipt, with the text that the SHA-256 is over:

    { $link }

    The public key, and how the signature is checked:

    { $keys }

    If you did not send them, tell us at once.
mail-body-publication =
    Dear { $name },

    round { $code }, { $title }, is evaluated and published. { $took-part ->
        [yes] { $laboratory } sees its scores, figures and certificate here:
       *[no] No results of { $laboratory } were received; what is published is here:
    }

    { $link }
mail-subject-correction = { $provider }: scores corrected for { $title }
mail-body-correction =
    Dear { $name },

    what was published of round { $code }, { $title }, has been corrected. The earlier certificates of { $laboratory } are superseded. Why, what is new, and the certificates that hold now:

    { $link }
message-kind-correction = Correction
mail-subject-report-correction = { $provider }: corrected report on { $title }
mail-body-report-correction =
    Dear { $name },

    the report on round { $code }, { $title }, has been corrected. Version { $version } takes the place of version { $replaces }, which { $laboratory } had; that one stays readable and is marked as superseded.

    Reason: { $reason }

    What changed:
    { $changed }

    The numbers before and after stand in the corrected report:

    { $link }
mail-report-value = - { $measurand }: the assigned value
mail-report-classes = - { $measurand }: { $count ->
    [one] the class of one result
   *[other] the classes of { $count } results
}
mail-report-both = - { $measurand }: the assigned value, and { $count ->
    [one] the class of one result
   *[other] the classes of { $count } results
}
mail-report-more = - and { $count ->
    [one] one measurand more
   *[other] { $count } measurands more
}
mail-report-nothing = - no assigned value and no class
message-kind-report-correction = Corrected report
mail-body-deadline =
    Dear { $name },

    the deadline for results of round { $code }, { $title }, is later than it was, for all laboratories alike.

    New deadline: { $deadline }.
    Before: { $before }.
    Reason: { $reason }

    The round, and what your laboratory has sent or still has to send:

    { $link }
mail-demonstration = Demonstration data: all organisations, people and numbers are invented.

# The page of messages
messages-title = Messages of round { $code }
messages-link = { $failed ->
    [0] Messages
    [one] Messages: one could not be sent
   *[other] Messages: { $failed } could not be sent
}
messages-set-up = Messages go out through { $host }, from { $sender }.
messages-no-mail = No mail is set up, so nothing is sent by itself: make invitation links on the page of the laboratories and copy them into messages of your own.
messages-how = Whoever runs this service sets it up with --mail and --mail-from, or ROUNDEL_MAIL and ROUNDEL_MAIL_FROM, and starts it again.
messages-empty = No message has been queued for this round.
messages-table = Messages, newest first
messages-kind = Message
messages-to = Recipient
messages-queued = Queued
messages-state = State
messages-text = Text
messages-text-of = Text of the { $kind } to { $recipient }
messages-link-place = [link, only in the message itself]
messages-waiting = waiting
messages-waiting-retry = waiting; next try { $at }
messages-last-error = Last try: { $error }
messages-sent = sent { $at }
messages-given-up = given up { $at }: { $error }
messages-retry = Try again
messages-retry-label = Try again: { $kind } to { $recipient }
messages-older = Older messages
messages-newest = Newest messages
message-kind-invitation = Invitation
message-kind-reminder = Reminder
message-kind-receipt = Receipt
message-kind-publication = Publication
message-kind-deadline = Later deadline
done-message-queued = The message is queued to be sent.
conflict-message = This message was not given up, so it is not queued again. It was sent, or it waits to be.

# Why a message was not sent
mail-error-joined = The laboratory has an account by now.
mail-error-reminder-late = Results came, or the round was closed, before it could be sent.
mail-error-address = { $seen } is not an address that can be written to.
mail-error-time = The mail server did not answer within { $seconds } s.
mail-error-reach = The mail server could not be reached: { $cause }
mail-error-answer = The mail server answered: { $cause }

# Inviting by mail
account-queued = invitation waits to be sent
invite-all-mail = { $count ->
    [one] Send the invitation to one laboratory
   *[other] Send invitations to { $count } laboratories
}
invite-one-mail = Send invitation
invite-one-mail-label = Send invitation to { $name }
invite-mail-hint = Invitations go out by mail. A link to copy can be made for a single laboratory; it ends the links that were sent to it before.
done-invitations-queued = The invitations are queued to be sent. The page of messages shows what becomes of them.
conflict-no-mail = No mail is set up, so no message can be sent. Make invitation links and copy them.
event-invitations-queued = { $detail ->
    [one] One invitation was queued
   *[other] { $detail } invitations were queued
}

# Reminding
remind-link = Remind who has not sent
remind-heading = Remind laboratories of round { $code }?
remind-people = { $count ->
    [0] Nobody who has an account has still to send results.
    [one] One person is reminded: no results of the laboratory have been sent.
   *[other] { $count } persons are reminded: no results of their laboratories have been sent.
}
remind-invitations = { $count ->
    [one] One laboratory without an account is sent an invitation again.
   *[other] { $count } laboratories without an account are sent an invitation again.
}
remind-recent = The last reminder was queued on { $at }, less than 24 hours ago.
remind-confirm = Remind them again all the same
remind-button = Send the reminders
reminder-recent = A reminder was queued on { $at }, less than 24 hours ago. Wait, or confirm that they are to be reminded again.
field-confirm = Again
done-reminded = The reminders are queued to be sent. The page of messages shows what becomes of them.
conflict-remind = Only laboratories of an open round that still takes results can be reminded.
conflict-nobody-missing = There is nobody to remind: every laboratory has sent results, or its invitation is on its way.
event-round-reminded = { $detail ->
    [one] One reminder was queued
   *[other] { $detail } reminders were queued
}
event-message-retried = A message was queued again: { $detail }
