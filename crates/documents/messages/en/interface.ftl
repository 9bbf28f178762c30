# The interface for programs: tokens, problems, its page.

## Tokens

nav-tokens = Programs
tokens-title = Tokens for your programs
tokens-text = A program that shows a token acts in your name: what you may see it may see, and what you may do it may do unless it only looks. Give every program a token of its own, so that one can be ended without the others.
tokens-more = How to write such a program
tokens-empty = You have made no token yet.
tokens-table = Your tokens
tokens-name = Program
tokens-right = May
tokens-made = Made
tokens-ends = Ends
tokens-used = Last used
tokens-state = State
tokens-right-look = look
tokens-right-change = look and change
tokens-never = never
tokens-open = open
tokens-ended = ended
tokens-revoked = revoked { $at }
tokens-revoke = Revoke
tokens-revoke-label = Revoke the token of { $name }
tokens-new = Make a token
tokens-new-name = Program
tokens-new-name-hint = What will show the token, such as “laboratory information system”. Only you see this.
tokens-new-right = What it may do
tokens-new-right-look = Only look: rounds, receipts, scores
tokens-new-right-change = Look and change: also send results
tokens-new-right-change-organiser = Look and change: also set up, evaluate and publish rounds
tokens-new-days = It ends after
tokens-new-days-30 = 30 days
tokens-new-days-90 = 90 days
tokens-new-days-365 = a year
tokens-new-button = Make the token
tokens-once-heading = The token of { $name }
tokens-once = Copy it now: it is shown this once and kept only as a hash. Whoever has it can act in your name until { $at }.
done-token-revoked = The token is revoked. Programs that show it are refused from now on.
field-right = What it may do
field-days = It ends after
token-right-missing = Nothing is chosen. Choose what the program may do.
token-days-missing = Nothing is chosen. Choose when the token ends.
token-many = { $count } of your tokens are open, which is the most. Revoke one that is not needed any more.

## The page for those who write programs

interface-title = The interface for programs
interface-text = What a person does on the pages, a program can do with JSON over HTTP, under the same rules.
interface-begin = To begin
interface-begin-token = Sign in and make a token. The program shows it in the header Authorization of every request.
interface-begin-description = Every address, field and answer is described in OpenAPI 3.1:
interface-rules = Rules
interface-rule-text = Numbers that a laboratory reports are texts, such as "31.9", and are kept letter by letter.
interface-rule-strict = Unknown fields are refused, and every mistake is named in one answer, each with its JSON Pointer.
interface-rule-key = Every POST but that of invitations carries the header Idempotency-Key with 16 to 128 characters of your own. Make it before the first try and keep it: when the connection breaks, send the same request with the same key again. It is done once, and the same answer comes back for as long as the round is kept.
interface-rule-time = Instants are in UTC. What counts for the deadline is the clock of this service.
interface-rule-pace = A token has { $burst } requests at once and { $second } a second over time. After that comes 429; wait as Retry-After says.
interface-rule-seen = A laboratory’s token sees what its people see: its own results and receipts, its own scores after publication, and nothing of others.
interface-example = An example
interface-example-text = A laboratory sends its results:
interface-problems = Problems
interface-problems-text = Everything that is not done is answered with problem details (RFC 9457). Their type is one of these addresses:

## Kinds of problems

problem-kinds-trail = Interface
problem-kind-status = Status { $status }
problem-kind-unauthorised-title = No open token
problem-kind-unauthorised-text = The request shows no token that is open. Send the header “Authorization: Bearer” with a token that has neither ended nor been revoked; tokens are made on the page “Programs” after signing in.
problem-kind-read-only-token-title = This token only looks
problem-kind-read-only-token-text = The token was made to look and not to change. Make one that may change, on the page “Programs”.
problem-kind-role-title = This needs another role
problem-kind-role-text = The person of the token has not the role for this: laboratories send results, the organiser does not, and of a laboratory those who may send. Use a token of somebody who may.
problem-kind-not-found-title = Not found
problem-kind-not-found-text = There is no such thing, or it is not for this token. Check the address; a round’s scores are there after its publication.
problem-kind-method-title = Not with this method
problem-kind-method-text = The address does not take this method. The header Allow names those that it takes.
problem-kind-conflict-title = Not as things stand
problem-kind-conflict-text = The state of the round does not allow this. Look at the round, then decide.
problem-kind-unreadable-title = Not readable
problem-kind-unreadable-text = The request could not be read as a whole. Check that the body is complete, is UTF-8 and is what its Content-Type says.
problem-kind-media-type-title = A body of another kind
problem-kind-media-type-text = This address does not take a body of this kind. Send JSON as application/json, or where a file is taken, text/csv or an XLSX file under its own type.
problem-kind-too-large-title = Too large
problem-kind-too-large-text = The body has more than a million bytes. Send less at once.
problem-kind-fields-title = Something in the body is not as it should be
problem-kind-fields-text = Nothing was changed. Each entry of “errors” names a place and says what is wrong there and what to do.
problem-kind-key-missing-title = No Idempotency-Key
problem-kind-key-missing-text = A request that makes something needs the header Idempotency-Key, so that sending it twice does it once. Make a random one of 16 to 128 characters, such as a UUID, keep it, and use the same one when the request is tried again.
problem-kind-key-used-title = The key was used before
problem-kind-key-used-text = This Idempotency-Key came with another body or to another address. Use a new key for a new request; send the same body for a try again.
problem-kind-too-many-title = Too many requests
problem-kind-too-many-text = This token has used up its requests for the moment. Wait as the header Retry-After says, then go on more slowly.
problem-kind-fault-title = A fault of the service
problem-kind-fault-text = Something went wrong on our side, and nothing was changed. Try again with the same key; if it stays, tell the organiser the name of the request.

## What is wrong with a request

problem-key-form = The header Idempotency-Key has not { $least } to { $most } visible characters without quotes inside. Send a random one, such as a UUID.
problem-media-json = The body says that it is “{ $seen }”. Send JSON with Content-Type: application/json.
problem-media-file = The body says that it is “{ $seen }”. Send JSON with application/json, a file with text/csv, or an XLSX file with application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.
problem-json = The body is not JSON: reading stopped at line { $line }, column { $column }. Send one JSON object in UTF-8.
problem-json-twice = An object of the body has a field twice, or a value that does not fit: see line { $line }, column { $column }. Name every field once.
problem-json-unknown = There is no field of this name here. Check its spelling in the description, or leave it out.
problem-json-missing = This field must be there. Add it.
problem-json-text = This must be a text, also where it is a number: "31.9" and not 31.9.
problem-json-boolean = This must be true or false.
problem-json-whole = This must be a whole number without quotes.
problem-json-list = This must be a list: [ … ].
problem-json-object = This must be an object: {"{"} … {"}"}.
problem-json-long = This text has more than { $limit } characters. Shorten it.
problem-json-many = This list has more than { $limit } entries. Send fewer at once.
problem-json-few = This list has fewer than { $limit } entries. Send at least { $limit }.
problem-json-other = This is not what the description says of it. Compare it with the description.
problem-slice-limit = “{ $seen }” is not a whole number from 1 to { $most }. Leave limit out, or send such a number.
problem-slice-after = “{ $seen }” is no place in the list. Take what “next” of the answer before gives.
problem-query = Behind the question mark stands something that this address does not take. Send only what the description names.
problem-result-analyte = The round has no analyte “{ $analyte }” in item { $item }. Write it as the round’s list of measurands does.
problem-result-item = The round has no item “{ $item }”. Use one of its items: { $known }.
problem-result-unit = The round has { $expected }, not “{ $seen }”. Convert the numbers and write { $expected } as the unit.
problem-result-form = “{ $seen }” does not say how the uncertainty is given. Write absolute, for the unit of the result, or percent.
problem-result-number-ambiguous = “{ $seen }” can be read as { $first } or as { $second }. Write { $write } for the first, or { $second } for the second.
problem-result-twice = This measurand stands at { $first } already. Send one entry for each.
problem-result-replicates = The round takes at most { $most } { $most ->
        [one] value
       *[other] values
    } for this measurand. Leave the others out.
problem-result-missing = { $analyte } in item { $item } has no entry. Add one; where there is no result, its state is not_analysed or failed, with a reason.
problem-decision-unknown = The round has no such laboratory or measurand. Compare it with the lists of the round.
problem-message-kind = “{ $seen }” is no kind of message that can be asked for. Write invitation or reminder.
problem-plan-twice = This measurand stands in the list before. Send one entry for each.
problem-laboratory-twice = “{ $seen }” stands in the list before. Send each laboratory once.
event-assigned-values-set = { $detail ->
        [one] One assigned value was set
       *[other] { $detail } assigned values were set
    } by a program
