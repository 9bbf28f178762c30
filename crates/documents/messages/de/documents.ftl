# Texte der Dokumente: Abbildungen, Zertifikate und die Worte für Klassen und Scores.

signal-acceptable = zufriedenstellend
signal-questionable = fraglich
signal-unacceptable = nicht zufriedenstellend
signal-information-only = nur zur Information
signal-not-scored = nicht bewertet
signal-withdrawn = zurückgezogen

score-z-meaning = z: die Abweichung vom zugewiesenen Wert, in Einheiten der Standardabweichung für die Eignungsbeurteilung σₚₜ.
score-z-prime-meaning = z′: wie z, wobei die Unsicherheit des zugewiesenen Werts zu σₚₜ hinzukommt, weil sie hier nicht vernachlässigbar ist.
score-zeta-meaning = ζ: die Abweichung vom zugewiesenen Wert, in Einheiten der kombinierten Standardunsicherheit von Ergebnis und zugewiesenem Wert.
score-en-meaning = Eₙ: die Abweichung vom zugewiesenen Wert, geteilt durch die kombinierte erweiterte Unsicherheit (k = 2) von Ergebnis und zugewiesenem Wert.

figure-count-word = { $count ->
    [1] eines
    [2] zwei
    [3] drei
    [4] vier
    [5] fünf
    [6] sechs
    [7] sieben
    [8] acht
    [9] neun
   *[other] { $count }
}
figure-unnamed = Aus Platzmangel nicht benannt: { $count }.
figure-caption-comma = ,{" "}
figure-caption-sentence = { $text }.
figure-results-title = Ergebnisse für { $measurand }, in { $unit }
figure-results-assigned = zugewiesener Wert
figure-results-assigned-short = zugewiesen
figure-results-limit = { $multiple } σ
figure-results-order = { $count ->
    [one] Ein Labor.
   *[other] { $count } Labore in der Reihenfolge ihrer Ergebnisse.
}
figure-results-order-uncertainty = { $count ->
    [one] Ein Labor, mit der Unsicherheit, die es angab.
   *[other] { $count } Labore in der Reihenfolge ihrer Ergebnisse, mit der Unsicherheit, die jedes angab.
}
figure-results-hairlines = Dünnes Linienpaar: erweiterte Unsicherheit des zugewiesenen Werts.
figure-results-hollow = Hohler Punkt oder hohles Quadrat: nicht im Konsens.
figure-results-crossed = Hohler Punkt oder hohles Quadrat, durchgestrichene Raute: nicht im Konsens.
figure-results-arrows = Pfeil: als kleiner als sein oberes Ende angegeben.
figure-results-caption-count = { $count ->
    [0] kein Labor mit einem Ergebnis
    [one] ein Labor
   *[other] { $count } Labore
}
figure-results-caption-mean = robuster Mittelwert { $value }
figure-results-caption-assigned = zugewiesener Wert { $value }
figure-results-caption-assigned-by = zugewiesener Wert { $value } { $route }
figure-results-caption-low = { $count } bei oder unter { $limit } σ
figure-results-caption-high = { $count } bei oder über { $limit } σ
figure-results-caption-low-between = { $count } zwischen { $limit } und { $outer } σ
figure-results-caption-high-between = { $count } zwischen { $limit } und { $outer } σ
figure-results-caption-below = { $count } als kleiner als eine Grenze angegeben

figure-scores-title = { $kind } jedes Labors für { $measurand }
figure-scores-warning = Warnung
figure-scores-action = Eingriff
figure-scores-order = { $count ->
    [one] Ein Labor.
   *[other] { $count } Labore in der Reihenfolge ihrer Codes.
}
figure-scores-hollow = Hohler Punkt: nur zur Information.
figure-scores-arrows = Pfeil: als kleiner als eine Grenze angegeben; der Score liegt unter dem oberen Ende des Pfeils.
figure-scores-cut = Jenseits von ±{ $cap } steht die Zahl.
figure-scores-caption-count = { $count ->
    [0] kein { $kind }-Score
    [one] ein { $kind }-Score
   *[other] { $count } { $kind }-Scores
}
figure-scores-caption-none = keiner jenseits einer Grenze
figure-scores-caption-low = { $count } bei oder unter { $limit }
figure-scores-caption-high = { $count } bei oder über { $limit }
figure-scores-caption-low-between = { $count } zwischen { $limit } und { $outer }
figure-scores-caption-high-between = { $count } zwischen { $limit } und { $outer }
figure-scores-caption-bounds = { $count } nur als Schranke
figure-scores-caption-own = { $code } bei { $score }
figure-scores-caption-own-bound = { $code } unter { $score }

figure-own-title = Scores des Labors { $code }
figure-own-limits = Gestrichelte Linien: Warnung bei ±{ $warning }. Durchgezogene Linien: Eingriff bei ±{ $action }.
figure-own-limit = Durchgezogene Linien: Eingriff bei ±{ $action }.
figure-own-diamond = Offene Raute: fraglich.
figure-own-square = Gefülltes Quadrat: nicht zufriedenstellend.
figure-own-arrows = Pfeil: als kleiner als eine Grenze angegeben; der Score liegt irgendwo auf dem Pfeil oder jenseits.
figure-own-no-score = nicht bewertet
figure-own-caption-count = { $count ->
    [0] kein Score des Labors { $code }
    [one] ein Score des Labors { $code }
   *[other] { $count } Scores des Labors { $code }
}
figure-own-caption-class = { $count } { $class }

certificate-title = Zertifikat über Teilnahme und Leistung
certificate-title-registration = Bestätigung der Anmeldung
certificate-round = Runde
certificate-number = Nummer
certificate-version = Version
certificate-issued = Ausgestellt
certificate-status = Status
certificate-status-preliminary = vorläufig
certificate-status-interim = Zwischenstand
certificate-status-final = endgültig
certificate-status-corrected = endgültig, berichtigt
certificate-status-superseded = durch eine spätere Version ersetzt
certificate-replaces = Ersetzt
certificate-replaces-sentence = Dieses Zertifikat ersetzt { $number }. Grund: { $reason }
certificate-banner-demonstration = Demonstrationsdaten
certificate-banner-preliminary = Vorläufig
certificate-banner-interim = Zwischenstand
certificate-banner-superseded = Ersetzt
certificate-page = Seite
certificate-page-of = von
certificate-page-end = { $number }, Version { $version }
certificate-end = Ende des Zertifikats { $number }, Version { $version }
certificate-end-registration = Ende der Bestätigung { $number }, Version { $version }
certificate-laboratory = Labor
certificate-code = Code in dieser Runde
certificate-provider = Anbieter
certificate-contact = Kontakt
certificate-accreditation = Akkreditierung
certificate-not-accredited = Der Anbieter ist für dieses Programm nicht akkreditiert.
certificate-items = Proben
certificate-item-unit = { $item } (Einheit { $code })
certificate-dates = Daten
certificate-late = Die Ergebnisse gingen nach der Frist ein. Sie werden bewertet und gehen in keinen Konsenswert ein.
certificate-registration-sentence = Das Labor war für diese Runde angemeldet. Es hat kein gültiges Ergebnis; über seine Leistung wird hier nichts gesagt.
certificate-results = Ergebnisse
certificate-table-alt = Ergebnisse und Scores, { $item }
certificate-analyte = Analyt
certificate-reported = Ergebnis
certificate-unit = Einheit
certificate-column-d = D %
certificate-score = Score
certificate-class = Klasse
certificate-false-negative = falsch negativ
certificate-false-positive = falsch positiv
certificate-trace = Spur, nicht beurteilt
certificate-correctly-not-detected = zu Recht nicht gefunden
certificate-route-formulation = aus der Herstellung
certificate-route-reference = aus einem Referenzmaterial
certificate-route-expert = von Expertenlaboren
certificate-route-participants = als Konsens der Teilnehmer
certificate-route-all = Alle zugewiesenen Werte wurden { $route } gefunden.
certificate-route-some = Zugewiesene Werte { $route }: { $analytes }.
certificate-note-converted = { $analyte }: bewertet als { $value }, umgerechnet aus der angegebenen Einheit.
certificate-note-loq-met = { $analyte }: die angegebene Grenze erfüllt die geforderte Bestimmungsgrenze von { $required }.
certificate-note-loq-not-met = { $analyte }: die angegebene Grenze erfüllt die geforderte Bestimmungsgrenze von { $required } nicht.
certificate-note-qualified = { $analyte }: die Unsicherheit des zugewiesenen Werts ist nicht vernachlässigbar; die Klasse gilt mit Vorbehalt.
certificate-note-near-loq = { $analyte }: der Gehalt liegt nahe den Bestimmungsgrenzen.
certificate-note-excluded = { $analyte }: nicht in Konsens und Zusammenfassung. { $reason }
certificate-note-no-class = { $analyte }: { $reason }
certificate-note-remark = { $analyte }: { $text }
certificate-not-reported = Nicht angegeben
certificate-missing = { $analyte } ({ $item }): { $reason }
certificate-missing-no-reason = { $analyte } ({ $item }): kein Grund angegeben
certificate-summary = Zusammenfassung
certificate-count-scored = bewertet
certificate-count-acceptable = zufriedenstellend
certificate-count-questionable = fraglich
certificate-count-unacceptable = nicht zufriedenstellend
certificate-count-information-only = nur zur Information
certificate-count-not-scored = nicht bewertet
certificate-count-withdrawn = zurückgezogen
certificate-count-false-positives = falsch positiv
certificate-count-false-negatives = falsch negativ
certificate-figure = Alle Scores
certificate-uncertainty = Angegebene Unsicherheiten
certificate-limits = Wie die Scores zu lesen sind
certificate-limits-two = |{ $kind }| ≤ { $warning } ist zufriedenstellend, zwischen { $warning } und { $action } fraglich, ab { $action } nicht zufriedenstellend.
certificate-limits-one = |{ $kind }| < { $action } ist zufriedenstellend, ab { $action } nicht zufriedenstellend.
certificate-bound-meaning = Ein Ergebnis „<“ hat keinen eigenen Score; die Zahl ist die Schranke, unter der der Score liegt.
certificate-cautions = Was dieses Dokument nicht sagt
certificate-caution-scope = Die Scores beschreiben diese Ergebnisse, an diesen Proben, in dieser Runde. Sie zertifizieren das Labor nicht und sind weder Akkreditierung noch Zulassung.
certificate-caution-ranking = Scores dürfen nicht zum Ordnen von Laboren nach Rang dienen. Ein Unterschied zwischen zwei zufriedenstellenden Scores bedeutet nichts.
certificate-caution-authority = Die Grenzen sind die des Programms. Wo ein Gesetz oder eine Behörde ein eigenes Kriterium setzt, gehen dieses und die Entscheidung der zuständigen Behörde vor; was für eine zulassungspflichtige Tätigkeit folgt, entscheidet sie.
certificate-caution-chance = Unter { $count } Scores hat ein Labor, das das Kriterium gerade noch erfüllt (keine systematische Abweichung, Streuung σₚₜ), allein durch Zufall etwa { $expected } jenseits von ±2.
certificate-caution-chance-few = Auch ein Labor, das das Kriterium erfüllt, hat allein durch Zufall gelegentlich einen Score jenseits der Warngrenze.
certificate-caution-kinds = z, z′, ζ, Eₙ und Scores auf logarithmischer Skala können einander nicht vertreten. Runden sind nur mit derselben Art von Score und demselben σₚₜ zu vergleichen, sonst mit D %.
certificate-caution-consensus = Ein Konsenswert spricht für die Teilnehmer. Er ist für sich allein weder rückführbar noch wahr, und eine Abweichung, die alle teilen, bleibt unsichtbar.
certificate-caution-information = Ergebnisse „nur zur Information“ dürfen nicht als bestanden oder nicht bestanden angeführt werden.
certificate-caution-complete = Ein Labor darf nur eigene Ergebnisse veröffentlichen, und dann alle der Runde, keine Auswahl.
certificate-caution-version = Eine Version kann ersetzt werden. Der Anbieter sagt auf Anfrage, ob diese noch gilt.
certificate-caution-version-at = Eine Version kann ersetzt werden. Ob diese noch gilt, steht unter { $address }
certificate-caution-demonstration = Demonstrationsdaten: Organisation, Labore und Zahlen sind erfunden.
certificate-caution-registration = Die Anmeldung zu einer Runde sagt nichts über die Leistung und ist weder Akkreditierung noch Zulassung.
certificate-report = Gehört zu { $report }. Ein Bericht über den Ringversuch, der auf dieser Veröffentlichung beruht, nennt ihre Nummer.
certificate-authorised = Freigegeben von
certificate-evidence = Nachrechnen der Scores
certificate-package-sha256 = SHA-256 des Datenpakets (Datei)
certificate-evaluation-sha256 = SHA-256 der Auswertung
certificate-engine = Ausgewertet mit
certificate-recompute = Das Datenpaket, das das Labor herunterladen kann, enthält den Plan, die Entscheidungen und alle Ergebnisse unter Codes. „roundel evaluate PACKAGE.json“ berechnet daraus jeden Score neu, ohne Server; was es ausgibt, hat die für die Auswertung angegebene SHA-256.
certificate-attachment = Maschinenlesbare Fassung dieses Zertifikats
