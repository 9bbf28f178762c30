# The people of a laboratory: rights, invitations of colleagues, and the second
# person who sends.

nav-people = People

# Rights
rights-read = read
rights-enter = enter
rights-submit = enter and send
error-right-title = This needs another right
right-enter = Your account may read everything of your laboratory and change nothing. If you are to enter results, ask a colleague who may send: they can change your rights on the page “People”.
right-submit = Your account may not send results. Ask a colleague who may send to do it, or to change your rights on the page “People”, which lists who that is.
right-people = Your account may not manage the people of your laboratory. Ask a colleague who may send; the page “People” lists who that is.

# The page
people-title = People of { $laboratory }
people-text = Everybody here sees all that is your laboratory’s: rounds, results, receipts, scores. Who may enter types results and saves them; who may send also sends them, and manages this list.
people-only-look = You can look at this list. Only colleagues with the right to send can change it.
people-shared = Please share no account: it is recorded who typed and who sent, and whoever ever knew a shared password can do both. Invite each colleague with an address of their own.
people-table = People with access
people-name = Name
people-email = E-mail address
people-since = Since
people-rights = Rights
people-you = (you)
people-rights-of = What { $name } may do
people-rights-save = Save
people-rights-save-label = Save what { $name } may do
people-end = End access
people-end-label = End access of { $name }
people-alone = You are alone here so far. Invite a colleague, so that somebody can send when you are away.
people-open = Invited
people-open-by = Invited by
people-open-until = Open until
people-withdraw = Withdraw
people-withdraw-label = Withdraw the invitation of { $email }
people-new = Invite a colleague
people-new-email-hint = Your colleague signs in with this address; take one that nobody else reads.
people-new-rights = What your colleague may do
people-new-rights-read = Read: see everything, change nothing
people-new-rights-enter = Enter: also type results and save them
people-new-rights-submit = Enter and send: also send results and manage people
people-new-button = Make the invitation link
people-new-button-mail = Send the invitation
people-once-heading = The link for { $email }
people-once = Copy it now and give it to your colleague: it is shown this once. It makes one account and is open until { $until }. Whoever has it can make that account.
people-once-mail = The invitation is queued to be sent. If it does not arrive, give your colleague this link, which is shown this once. It makes one account and is open until { $until }. Whoever has it can make that account.
people-former = No longer here
people-former-text = Their names stay in the records of what they typed and sent.
people-former-line = { $name }, until { $until }
people-record = Record of changes
people-end-heading = End access of { $name }
people-end-text = { $name } ({ $email }) is signed out everywhere at once, and programs with a token of this person are refused.
people-end-own = This is your own account. You are signed out at once, and programs with your tokens are refused. Only a colleague can let you in again.
people-end-kept = What was saved and sent stays, with its name. Invitations that are still open and come from this account end too. Whoever is invited again with the same address has the same account.
people-end-button = End access

# What is wrong
person-rights-missing = Nothing is chosen. Choose what the person may do.
person-known = { $seen } has access already, as { $name }. Change what { $name } may do in the list.
people-many = { $count } people are invited and have not come yet, which is the most. Withdraw an invitation that is not needed any more.
person-last = { $name } is the only person who may send. Give somebody else the right to send first.
sign-in-ended = Access of this account was ended by its laboratory. If that is a mistake, ask a colleague there for an invitation.
invitation-email-personal = Your colleague invited this address; it is the one you sign in with.
invitation-taken = There is an account for { $seen } already, and an account belongs to one laboratory. Ask your colleague for an invitation to another address.
invitation-text-colleague = { $provider } runs interlaboratory comparisons, and a colleague of your laboratory invites you to its account. Choose the name and the password that you will use; the link is used up then.

# What was done
done-invitation-withdrawn = The invitation is withdrawn; its link is dead.
done-rights-changed = Saved. It holds from now on.
done-access-ended = Access is ended.
done-second-on = From now on results are sent by somebody who typed none of them.
done-second-off = From now on whoever typed results may send them too.

# The second person
second-heading = A second person sends
second-is-off = Off: whoever may send can send what they typed themselves.
second-is-on = On: results are sent by somebody who typed none of what changed since the last sending. Programs cannot send results of their own either.
second-switch-on = Switch on
second-switch-off = Switch off
second-impossible = Nobody can send like this: it takes a person who enters and another one who may send. Invite a colleague, or switch it off.
second-alone = This takes a person who enters and another one who may send. Invite a colleague or change somebody’s rights first.
second-typed = You typed something of these results, and your laboratory wants a second person to send them. Typed by: { $typists }. Ask one of these to look and send: { $able }.
second-nobody = Your laboratory wants results sent by somebody who typed none of them, and nobody is left for that. Typed by: { $typists }. Invite a colleague with the right to send, or switch the second person off, on the page “People”.
conflict-second-program = This laboratory wants a second person to send its results, so a program cannot send results that it brings itself. Take them in as a draft on the results page; a colleague with the right to send, or a program with a token of one, then sends exactly these.
second-check-typed = Typed by: { $typists }.
second-check-you-can = You typed none of what changed, so you can send it.
second-check-others = Your laboratory wants a second person to send. These can: { $able }.
second-check-nobody = Your laboratory wants a second person to send, and nobody is left for that. Invite a colleague with the right to send, or switch the second person off, on the page “People”.
check-senders = You may not send. These can: { $able }.
check-senders-link = People of your laboratory

# Looking at what is typed
reading-why = Your account may read only: nothing can be changed here. A colleague who may send can change that on the page “People”.
reading-empty = nothing yet
reading-yes = yes

# The record
event-laboratory-invited = The laboratory was invited
event-person-joined = Came by invitation: { $detail }
event-person-returned = Came back by invitation: { $detail }
event-person-invited = Invited: { $detail }
event-invitation-withdrawn = Invitation withdrawn: { $detail }
event-rights-changed = Rights changed, { $detail }
event-access-ended = Access ended: { $detail }
event-second-person-on = A second person sends: switched on
event-second-person-off = A second person sends: switched off

# The invitation by mail: no result, no score and no code of a laboratory.
mail-subject-colleague = { $provider }: invitation to the account of { $laboratory }
mail-body-colleague =
    Dear colleague,

    { $colleague } invites you to the account of { $laboratory } at { $provider }, which runs interlaboratory comparisons.

    Make your own account at this address. It makes one account, within { $days } days:

    { $link }

    Whoever has this address can make that account, so please do not pass this message on. If you did not expect it, you need not do anything.
message-kind-colleague = Invitation of a colleague
mail-error-colleague = The invitation was withdrawn or used before this message could be sent.
