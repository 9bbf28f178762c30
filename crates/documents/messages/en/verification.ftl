# What certificates say beside the texts of documents.ftl: dates, reasons, remarks,
# and how they are checked.

item-name = Item { $item }
item-name-matrix = Item { $item }, { $matrix }
expressed-as = as { $basis }
few-hidden = Fewer than five laboratories reported this measurand, so nothing that rests on their results is shown.
certificate-date-opened = Round opened
certificate-date-received = Results received
certificate-date-deadline = Deadline
certificate-date-published = Published
certificate-of-version = { $number }, version { $version }
state-of-identified = identified, not quantified
certificate-without-u = { $count ->
    [one] One result was reported without an uncertainty; ζ, which the result pages show for information, is not evaluated for it. This has no effect on its class.
   *[other] { $count } results were reported without an uncertainty; ζ, which the result pages show for information, is not evaluated for them. This has no effect on their class.
}
certificate-without-k = { $count ->
    [one] One uncertainty was reported without its coverage factor and could not be used.
   *[other] { $count } uncertainties were reported without their coverage factor and could not be used.
}
certificate-publisher = { $name }, for { $provider }
measurand-name = { $analyte }, item { $item }
reason-out-of-scope = not in our scope
reason-no-method = no method in use
reason-instrument = instrument out of service
reason-item = item used up or damaged
reason-quality-control = own quality control failed
certificate-month-1 = January
certificate-month-2 = February
certificate-month-3 = March
certificate-month-4 = April
certificate-month-5 = May
certificate-month-6 = June
certificate-month-7 = July
certificate-month-8 = August
certificate-month-9 = September
certificate-month-10 = October
certificate-month-11 = November
certificate-month-12 = December
certificate-day = { $day } { $month } { $year }
certificate-instant = { $day }, { $time } UTC
certificate-item-dates = received { $received }, analysed { $analysed }
certificate-report-version = round { $round }, publication { $version }
certificate-u-plausible = { $count ->
    [one] One uncertainty is plausible: not below that of the assigned value, and not above 1.5 times the spread of the laboratories.
   *[other] { $count } uncertainties are plausible: not below that of the assigned value, and not above 1.5 times the spread of the laboratories.
}
certificate-u-too-small = { $count ->
    [one] One uncertainty is probably too small, because it is below that of the assigned value: { $measurands }. This has no effect on the class.
   *[other] { $count } uncertainties are probably too small, because they are below those of the assigned values: { $measurands }. This has no effect on the classes.
}
certificate-u-too-large = { $count ->
    [one] One uncertainty is probably too large, because it is above 1.5 times the spread of the laboratories: { $measurands }. This has no effect on the class.
   *[other] { $count } uncertainties are probably too large, because they are above 1.5 times the spread of the laboratories: { $measurands }. This has no effect on the classes.
}
certificate-not-analysed = An analyte that was not analysed is no failure.
certificate-status-withdrawn = withdrawn
certificate-banner-withdrawn = Withdrawn
certificate-column-route = from
certificate-route-letter-formulation = F
certificate-route-letter-reference = R
certificate-route-letter-expert = E
certificate-route-letter-participants = P
certificate-route-named = { $letter }: assigned value { $route }.
certificate-proof = Checking this certificate
certificate-proof-address = Does it still stand?
certificate-proof-digest = SHA-256 of the statement
certificate-proof-key = Signed with the key
certificate-proof-notices = Notices
certificate-proof-notices-at = { $address } (at issue, on { $issued }, none concerned this certificate)
certificate-proof-qr = QR code of the address { $address }
certificate-proof-how = This PDF carries the signed statement as { $file }, and the file is signed as a whole; a print of it is not. Without a network: “roundel verify FILE --keys keys.json”. With openssl alone: as { $keys } describes.
