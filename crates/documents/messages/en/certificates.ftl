# Pages about certificates: checking them, their name, withdrawing them, and keys.

verify-title = Checking a certificate
verify-issuer = Issued by
verify-issued = Issued on
verify-number = Number
verify-version = Version
verify-digest = Digest (SHA-256)
verify-digest-why = A code can be copied onto another paper. Compare this digest with the one printed beside the code; what the paper says is proved by its file only, which can be checked below.
verify-authentic = Authentic
verify-authentic-sentence = This certificate was issued here, and it still stands.
verify-superseded = Superseded
verify-superseded-sentence = This certificate was issued here. A later version took its place on { $day }; ask the laboratory for that one.
verify-withdrawn = Withdrawn
verify-withdrawn-sentence = This certificate was issued here, and it was withdrawn on { $day }. It must not be relied on.
verify-unknown = Unknown
verify-unknown-sentence = No certificate with this address was issued here. Compare the address with the one printed beside the code, letter by letter.
verify-not-kept = Not issued here
verify-not-kept-sentence = The file is signed with a key of this service, but no such certificate is kept here. Show it to the provider.
verify-changed = Changed
verify-changed-sentence = The signature does not belong to this text: at least one letter is not as it was signed, or another program saved the file anew. Take the file as it was downloaded; if this stays, do not rely on it.
verify-pages-changed = Pages changed
verify-pages-changed-sentence = The statement inside this PDF is genuine, but the rest of the file is not as it was issued: what the pages show may have been altered, or another program saved the file anew. Do not rely on it; take the file as it was downloaded.
verify-unknown-key = Unknown key
verify-unknown-key-sentence = The file is signed with the key { $id }, which is none of this service. Somebody else made it, or it belongs to another provider.
verify-expired-key = Expired key
verify-expired-key-sentence = The file says that it was signed at a time when the key { $id } did not sign any more, or not yet. Do not rely on it; show it to the provider.
verify-unreadable = No certificate
verify-unreadable-sentence = This is no signed certificate and no PDF that carries one. Choose the PDF or the JSON file as it was downloaded.
verify-file = Check a file
verify-file-lead = The file is checked and forgotten. The answer says whether it is authentic, who issued it and when, and nothing else.
verify-file-label = Certificate
verify-file-hint = The PDF or the JSON file, as it was downloaded.
verify-file-button = Check
verify-offline = A PDF is signed as a whole, and carries the signed statement as a JSON file: a print is compared with that, which “roundel verify” shows. That and openssl work without this service.
verify-keys-link = Keys, and how to check without this service
verify-notices-link = Certificates and reports that do not stand any more (notices.json)

notices-title = Notices
notices-lead = Certificates and reports that do not stand any more. Each notice has a number, from 1 without gaps, and is signed for itself; it names documents by their digests only, so that nobody learns whose they are.
notices-none = There is no notice: all certificates and reports that were issued here stand.
notices-number = No.
notices-since = Since
notices-what = What
notices-file = Signed
notices-certificates-superseded = { $count ->
    [one] One certificate was superseded by a later version
   *[other] { $count } certificates were superseded by later versions
}
notices-certificates-withdrawn = { $count ->
    [one] One certificate was withdrawn
   *[other] { $count } certificates were withdrawn
}
notices-reports-superseded = { $count ->
    [one] One report was superseded by a corrected one
   *[other] { $count } reports were superseded by corrected ones
}
notices-check = A notice is checked like the JSON file of a certificate, with openssl alone: the commands stand on the page of keys.
notices-link = Notices

keys-purpose = Receipts, certificates and the list of notices are signed with it.
keys-ends = Signs until at the latest
keys-history = What a key signed while it was to sign stays good for ever. What claims to be signed before or after is refused.
keys-list-link = All keys as one file (keys.json)
keys-change-link = Change the key
keys-change-title = Change the key that signs
keys-change-lead = The key that signs now is retired at once, and a new one signs from then on. What the old key signed stays good, and its public half stays on the page of keys for ever.
keys-change-stolen = Was the old key copied by somebody who should not have it? Then whatever it seems to have signed before now cannot be told from what you signed: correct or withdraw the certificates in question, and tell the laboratories.
keys-change-reason = Why it is changed
keys-change-reason-hint = It stands in the record.
keys-change-button = Retire the key and make a new one
done-key-changed = A new key signs from now on.
event-key-changed = The key that signs was changed: { $detail }
keys-certificate = How a certificate is checked
keys-certificate-download = On the page of scores the laboratory downloads signed.json and signature.bin of its certificate, or takes both out of the JSON file that the PDF carries. The command is the same as for a receipt:
keys-certificate-sealed = From the JSON file alone, with openssl and the tools of every Unix (the statement is its last member, letter by letter what was signed):
keys-certificate-whole = The PDF as a whole, with openssl and the GNU tools. Its metadata name the key after “roundel-file/1” and hold the signature of the file’s digest, taken with zeros in the place of both:
keys-certificate-program = The program checks all of this in one step, and says what is signed:
keys-notice = How a notice is checked
keys-notice-sealed = Each notice of the notice board is a JSON file of its own with a number, from 1 without gaps. It is taken apart and checked like a certificate; then signed.json says since when which digests do not stand any more:
keys-certificate-notices = Whether a certificate was superseded or withdrawn: its digest is what openssl prints here, and stands in notices.json if it was:

certificate-json-link = Certificate as signed JSON
certificate-german-link = Certificate in German
certificate-signed-link = What is signed
certificate-signature-link = The signature
certificate-name-link = Name or code on certificates
certificate-name-title = Name on certificates of { $code }
certificate-name-open = Certificates are issued when the round is published. Choose before that how the laboratory appears on its own.
certificate-name-published = Certificates of this round were issued, and stay as they are. What you choose here holds if the round is corrected and new ones are issued.
certificate-name-legend = On our certificate stands
certificate-name-name = our name, { $name }, and the code { $code }
certificate-name-code = only the code { $code }
certificate-name-button = Keep this
certificate-name-is-code = Only the code { $code } stands on the certificate.
certificate-name-is-name = The name { $name } stands on the certificate.
certificate-name-ask = Who may send results chooses; ask a colleague who may.
done-certificate-name-kept = Kept. It holds for the certificates that are issued from now on.
event-certificate-by-code = { $detail } appears on its certificates by its code only
event-certificate-by-name = { $detail } appears on its certificates by its name
certificate-withdraw-link = Withdraw
certificate-withdraw-of = Withdraw the certificate of { $code }
certificate-withdraw-title = Withdraw certificate { $number }
certificate-withdraw-lead = Certificate { $number }, version { $version }, will be shown as withdrawn to everybody who checks it, and its digest goes into the signed list of notices. That cannot be undone.
certificate-withdraw-correction = To replace it by a right one, correct the round instead: then every laboratory gets a new version, and the old ones are shown as superseded.
certificate-withdraw-reason = Why it is withdrawn
certificate-withdraw-reason-hint = It stands in the record of the round, not on the public page.
certificate-withdraw-button = Withdraw the certificate
certificate-withdraw-done = This certificate is withdrawn already.
conflict-certificate-withdrawn = This certificate is withdrawn already.
done-certificate-withdrawn = The certificate is withdrawn.
event-certificate-withdrawn = Certificate withdrawn, { $detail }
