# Was Zertifikate neben den Texten von documents.ftl sagen: Tage, Gründe, Bemerkungen,
# und wie sie geprüft werden.

item-name = Probe { $item }
item-name-matrix = Probe { $item }, { $matrix }
expressed-as = als { $basis }
few-hidden = Weniger als fünf Laboratorien haben diese Messgröße angegeben; daher wird nichts gezeigt, was auf deren Ergebnissen beruht.
certificate-date-opened = Ringversuch eröffnet
certificate-date-received = Ergebnisse eingegangen
certificate-date-deadline = Abgabefrist
certificate-date-published = Veröffentlicht
certificate-of-version = { $number }, Version { $version }
state-of-identified = nachgewiesen, nicht quantifiziert
certificate-without-u = { $count ->
    [one] Ein Ergebnis wurde ohne Unsicherheit angegeben; ζ, das die Ergebnisseiten zur Information zeigen, wird dafür nicht berechnet. Auf die Klasse hat das keinen Einfluss.
   *[other] { $count } Ergebnisse wurden ohne Unsicherheit angegeben; ζ, das die Ergebnisseiten zur Information zeigen, wird dafür nicht berechnet. Auf die Klassen hat das keinen Einfluss.
}
certificate-without-k = { $count ->
    [one] Eine Unsicherheit wurde ohne Erweiterungsfaktor angegeben und konnte nicht verwendet werden.
   *[other] { $count } Unsicherheiten wurden ohne Erweiterungsfaktor angegeben und konnten nicht verwendet werden.
}
certificate-publisher = { $name }, für { $provider }
measurand-name = { $analyte }, Probe { $item }
reason-out-of-scope = nicht im Umfang des Laboratoriums
reason-no-method = kein Verfahren in Gebrauch
reason-instrument = Gerät außer Betrieb
reason-item = Probe verbraucht oder beschädigt
reason-quality-control = eigene Qualitätskontrolle nicht bestanden
certificate-month-1 = Januar
certificate-month-2 = Februar
certificate-month-3 = März
certificate-month-4 = April
certificate-month-5 = Mai
certificate-month-6 = Juni
certificate-month-7 = Juli
certificate-month-8 = August
certificate-month-9 = September
certificate-month-10 = Oktober
certificate-month-11 = November
certificate-month-12 = Dezember
certificate-day = { $day }. { $month } { $year }
certificate-instant = { $day }, { $time } UTC
certificate-item-dates = erhalten { $received }, untersucht { $analysed }
certificate-report-version = Runde { $round }, Veröffentlichung { $version }
certificate-u-plausible = { $count ->
    [one] Eine Unsicherheit ist plausibel: nicht kleiner als die des zugewiesenen Werts und nicht größer als das 1,5-Fache der Streuung der Laboratorien.
   *[other] { $count } Unsicherheiten sind plausibel: nicht kleiner als die des zugewiesenen Werts und nicht größer als das 1,5-Fache der Streuung der Laboratorien.
}
certificate-u-too-small = { $count ->
    [one] Eine Unsicherheit ist vermutlich zu klein, weil sie kleiner ist als die des zugewiesenen Werts: { $measurands }. Auf die Klasse hat das keinen Einfluss.
   *[other] { $count } Unsicherheiten sind vermutlich zu klein, weil sie kleiner sind als die der zugewiesenen Werte: { $measurands }. Auf die Klassen hat das keinen Einfluss.
}
certificate-u-too-large = { $count ->
    [one] Eine Unsicherheit ist vermutlich zu groß, weil sie größer ist als das 1,5-Fache der Streuung der Laboratorien: { $measurands }. Auf die Klasse hat das keinen Einfluss.
   *[other] { $count } Unsicherheiten sind vermutlich zu groß, weil sie größer sind als das 1,5-Fache der Streuung der Laboratorien: { $measurands }. Auf die Klassen hat das keinen Einfluss.
}
certificate-not-analysed = Ein nicht untersuchter Analyt gilt nicht als Fehler.
certificate-status-withdrawn = zurückgezogen
certificate-banner-withdrawn = Zurückgezogen
certificate-column-route = aus
certificate-route-letter-formulation = F
certificate-route-letter-reference = R
certificate-route-letter-expert = E
certificate-route-letter-participants = P
certificate-route-named = { $letter }: zugewiesener Wert { $route }.
certificate-proof = Prüfung dieses Zertifikats
certificate-proof-address = Gilt es noch?
certificate-proof-digest = SHA-256 der Erklärung
certificate-proof-key = Signiert mit dem Schlüssel
certificate-proof-notices = Mitteilungen
certificate-proof-notices-at = { $address } (bei der Ausstellung am { $issued } betraf keine dieses Zertifikat)
certificate-proof-qr = QR-Code der Adresse { $address }
certificate-proof-how = Dieses PDF enthält die signierte Erklärung als { $file }, und die Datei ist als Ganzes signiert; ein Ausdruck ist es nicht. Ohne Netz: „roundel verify DATEI --keys keys.json“. Mit openssl allein: wie unter { $keys } beschrieben.
