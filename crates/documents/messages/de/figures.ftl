# Texte der Abbildungen: Paare, ζ gegen z, Matrix, Präzision, Scores über Runden.

figure-outside = Was außerhalb liegt, steht am Rahmen, mit seiner Zahl.
figure-table-code = Code
figure-table-class = Klasse
figure-table-reading = Lesart
figure-table-level = Niveau
figure-table-round = Runde
figure-table-date = Datum
figure-table-of = Von
figure-table-score = Score

figure-youden-title = Ergebnisse für { $analyte }: { $y } gegen { $x }
figure-youden-ellipse = Gestrichelt: die Ellipse, die 95 % solcher Paare enthält, aus einer robusten Kovarianz. Linien: zugewiesene Werte.
figure-youden-too-few = Keine Ellipse: weniger als { $least } Paare.
figure-youden-singular = Keine Ellipse: die Paare streuen nicht in beiden Richtungen.
figure-youden-diamond = Offene Raute: fraglich bei einer der beiden Proben.
figure-youden-square = Gefülltes Quadrat: nicht zufriedenstellend bei einer der beiden Proben.
figure-youden-single = { $count ->
    [one] Ein Labor mit einer Zahl für nur eine Probe ist nicht gezeichnet.
   *[other] { $count } Labore mit einer Zahl für nur eine Probe sind nicht gezeichnet.
}
figure-youden-caption-count = { $count ->
    [0] kein Labor mit einer Zahl für beide Proben
    [one] ein Labor
   *[other] { $count } Labore
}
figure-youden-caption-none = keines außerhalb der Ellipse
figure-youden-caption-outside = { $count } außerhalb der Ellipse
figure-youden-caption-correlation = robuste Korrelation { $r }
figure-youden-caption-own = { $code } bei { $x } und { $y }
figure-youden-caption-own-inside = { $code } innerhalb, bei { $x } und { $y }
figure-youden-caption-own-outside = { $code } außerhalb, bei { $x } und { $y }

figure-zeta-title = ζ gegen { $symbol } für { $measurand }
figure-zeta-whisker = Balken: die Standardunsicherheit, die das Labor angab, auf der Skala von { $symbol }.
figure-zeta-good = Gut: beide innerhalb von ±{ $limit }.
figure-zeta-too-small = u zu klein: { $symbol } innerhalb von ±{ $limit }, ζ jenseits.
figure-zeta-too-large = u zu groß: ζ innerhalb von ±{ $limit }, { $symbol } jenseits; ehrlich, aber zu groß für den Zweck.
figure-zeta-bad = Nicht gedeckt: beide jenseits von ±{ $limit }.
figure-zeta-good-short = gut
figure-zeta-too-small-short = u zu klein
figure-zeta-too-large-short = u zu groß
figure-zeta-bad-short = nicht gedeckt
figure-zeta-caption-count = { $count ->
    [0] kein Labor mit einer Unsicherheit
    [one] ein Labor mit einer Unsicherheit
   *[other] { $count } Labore mit einer Unsicherheit
}
figure-zeta-good-caption = { $count } in beiden Scores gut
figure-zeta-too-small-caption = { $count } mit zu kleinem u
figure-zeta-too-large-caption = { $count } mit einem für den Zweck zu großen u
figure-zeta-bad-caption = { $count } mit einer Abweichung, die u nicht deckt
figure-zeta-caption-without = { $count } ohne Unsicherheit nicht gezeichnet
figure-zeta-caption-own = { $code } bei { $symbol } { $z } und ζ { $zeta }
figure-zeta-ratio = u / σₚₜ

figure-overview-within = Punkt: zufriedenstellend.
figure-overview-warning = Offene Raute: fraglich.
figure-overview-action = Gefülltes Quadrat: nicht zufriedenstellend.
figure-overview-information = Ring: nur zur Information.
figure-overview-not-scored = Kreuz: angegeben, nicht bewertet.
figure-overview-below = Winkel, "<": als kleiner als eine Grenze angegeben.
figure-overview-not-reported = Strich: nicht angegeben.
figure-overview-not-analysed = Zwei Striche: nicht untersucht, oder die Untersuchung misslang.
figure-overview-not-asked = Leer: bei dieser Probe nicht gefragt.
figure-overview-below-word = kleiner als eine Grenze
figure-overview-not-reported-word = nicht angegeben
figure-overview-not-analysed-word = nicht untersucht
figure-overview-not-asked-word = nicht gefragt
figure-overview-caption-count = { $count ->
    [0] kein Ergebnis
    [one] ein Ergebnis
   *[other] { $count } Ergebnisse
}
figure-overview-caption-missing = { $count } nicht angegeben

figure-mandel-title = Mandels { $symbol } jedes Labors für { $analyte }
figure-mandel-h = h: wie weit der Mittelwert eines Labors vom Mittelwert aller entfernt ist, in deren Standardabweichung. In der Reihenfolge der Codes.
figure-mandel-k = k: die Standardabweichung innerhalb eines Labors im Verhältnis zu der aller. In der Reihenfolge der Codes.
figure-mandel-lines = Linien bei 5 % und 1 % für die vorliegende Zahl von Laboren. Offene Raute: jenseits von 5 %. Gefülltes Quadrat: jenseits von 1 %.
figure-mandel-caption-count = { $count ->
    [0] kein Wert von { $symbol }
    [one] ein Wert von { $symbol }
   *[other] { $count } Werte von { $symbol }
}
figure-mandel-caption-none = keiner jenseits einer Linie
figure-mandel-caption-action = { $count } jenseits der Linie bei 1 %
figure-mandel-caption-warning = { $count } zwischen den Linien bei 5 % und 1 %
figure-mandel-place = Gegenüber den Linien
figure-mandel-beyond-1 = jenseits von 1 %
figure-mandel-beyond-5 = jenseits von 5 %
figure-mandel-inside = innerhalb

figure-precision-title = Präzision gegen Niveau für { $analyte }
figure-precision-level = Niveau ({ $unit })
figure-precision-sd = Standardabweichung ({ $unit })
figure-precision-filled = Gefüllter Punkt, sR: Vergleichpräzision.
figure-precision-hollow = Hohler Punkt, sr: Wiederholpräzision.
figure-precision-planned = Strich, σₚₜ: die Standardabweichung für die Eignungsbeurteilung.
figure-precision-no-replicates = Ein Ergebnis je Labor: die Wiederholpräzision lässt sich nicht schätzen.
figure-precision-point = { $name }: { $symbol } { $value }
figure-precision-caption-count = { $count ->
    [0] kein Niveau
    [one] ein Niveau
   *[other] { $count } Niveaus
}
figure-precision-caption-one = { $symbol } beträgt { $first } % des Mittelwerts
figure-precision-caption-many = { $symbol } beträgt { $first } % des Mittelwerts beim niedrigsten und { $last } % beim höchsten

figure-trend-title = Scores über Runden: { $name }
figure-trend-ewma = EWMA
figure-trend-line = Linie: gleitender Mittelwert mit λ = 0,3 (EWMA), seine Grenzen gepunktet.
figure-trend-few = Weniger als { $least } Runden mit einem Score: es sind keine Grenzen gezeichnet.
figure-trend-ring = Ring: hier hinsehen, eine Regel der Qualitätsregelkarten trifft zu.
figure-trend-look-label = hinsehen
figure-trend-gap = –: kein Score in dieser Runde.
figure-trend-changed = Gepunktete senkrechte Linie: ab hier ein anderes σₚₜ oder eine andere Art von Score.
figure-trend-superseded = *: berichtigt; gezeigt ist der Score der Berichtigung.
figure-trend-none = kein Score
figure-trend-caption-count = { $count ->
    [0] keine Runde
    [one] { $name }: eine Runde
   *[other] { $name }: { $count } Runden
}
figure-trend-caption-look = { $count } zum Hinsehen
