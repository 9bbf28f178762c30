# Signed receipts, and the keys that sign.

# The receipt as a PDF
receipt-pdf-title = Receipt of results
receipt-pdf-page-end = Receipt, round { $round }, version { $version }
receipt-pdf-end = End of the receipt, round { $round }, version { $version }
receipt-pdf-code = Code in this round
receipt-pdf-provider = Received by
receipt-pdf-received = Received
receipt-pdf-version = Version
receipt-pdf-late = The results were received after the deadline.
receipt-pdf-reference = Reference
receipt-pdf-address = Address
receipt-pdf-key = Key
receipt-pdf-signature = Signature (Ed25519)
receipt-pdf-how = The SHA-256 is over the stored document, which can be downloaded at the address of this receipt. The signed receipt travels inside this PDF as a file. How both are checked with openssl alone, and the public keys: { $address }
receipt-pdf-attachment = The signed receipt (roundel-receipt/1), with the public key and the signature
receipt-pdf-item = Sent
receipt-pdf-analyte = Analyte
receipt-pdf-result = Result
receipt-pdf-typed = as typed
receipt-pdf-evaluated = as evaluated
receipt-pdf-unit = in its unit
receipt-pdf-percent = in %
receipt-pdf-said = Said beside the results
receipt-pdf-mean = mean { $value }

# The receipt's page
receipt-reference = Reference
receipt-version = Version
receipt-signature = Signature (Ed25519)
receipt-key = Key
receipt-unsigned = This receipt is not signed: it was made before this service signed receipts.
receipt-pdf-link = Receipt (PDF)
receipt-json-link = Signed receipt (JSON)
receipt-check = Check this receipt yourself
receipt-check-lead = Three files are needed, and the program openssl (3.0 or newer). They prove who took what, and when; nobody needs this service for it.
receipt-check-signed = what was signed
receipt-check-signature = its signature
receipt-check-key = the public key
receipt-check-more = More on keys and signatures
receipt-check-command = The answer must be “Signature Verified Successfully”:
receipt-check-hash = The SHA-256 in signed.json is that of the results as they were stored:

# The public page of keys
keys-title = Keys that sign receipts and certificates
keys-lead = Every receipt and every certificate of { $provider } is signed with one of these keys (Ed25519, RFC 8032). Anybody can check them with the public key alone.
keys-lead-unnamed = Every receipt and every certificate is signed with one of these keys (Ed25519, RFC 8032). Anybody can check them with the public key alone.
keys-none = There is no key yet: it is made when this service is set up, or with the first sending.
keys-key = Key { $id }
keys-since = Signs since
keys-until = Signed until
keys-download = Download { $id }.pem
keys-how = How a receipt is checked
keys-how-download = On the page of the receipt, download signed.json (the receipt, in the canonical form of RFC 8785) and signature.bin (its signature); and the key that the receipt names from this page. Then, with openssl 3.0 or newer:
keys-how-answer = openssl answers “Signature Verified Successfully”. If a single letter of the receipt is changed, it answers “Signature Verification Failure”.
keys-how-name = Whether a file is the key that the receipt names: the first 16 digits printed here, of the SHA-256 of the 32 bytes of the key, are its name:
keys-how-hash = Whether stored results are those of the receipt: what is printed here must be the sha256 in signed.json:
keys-how-copy = Where only a printed receipt is at hand, its signature makes the file again:
keys-how-json = The file receipt.json of a receipt holds all three: receipt, public_key and signature. The text of receipt in it is what was signed, letter by letter.
keys-how-keep = Keep a copy of the key with the receipt: then the proof does not depend on this service.
event-key-made = The key { $detail } was made, which signs receipts and certificates
