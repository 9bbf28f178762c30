//! The laboratories of the scenario, one line each. Every name, place and address
//! is invented.

/// How a laboratory measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Online enrichment, LC-MS/MS, isotope-labelled standards.
    M1,
    /// Direct injection, LC-MS/MS, isotope-labelled standards.
    M2,
    /// Direct injection, LC-MS/MS, external calibration in solvent.
    M3,
    /// Offline enrichment, LC-HRMS.
    M4,
}

impl Group {
    /// The name of the group in the evaluation.
    pub fn code(self) -> &'static str {
        match self {
            Group::M1 => "M1",
            Group::M2 => "M2",
            Group::M3 => "M3",
            Group::M4 => "M4",
        }
    }

    /// The method in words.
    pub fn method(self) -> &'static str {
        match self {
            Group::M1 => "online enrichment, LC-MS/MS, isotope-labelled standards",
            Group::M2 => "direct injection, LC-MS/MS, isotope-labelled standards",
            Group::M3 => "direct injection, LC-MS/MS, external calibration in solvent",
            Group::M4 => "offline enrichment, LC-HRMS",
        }
    }

    /// Median of the limits of quantification, in ng/L.
    pub(super) fn median_loq(self) -> f64 {
        match self {
            Group::M1 => 5.0,
            Group::M2 => 10.0,
            Group::M3 => 18.0,
            Group::M4 => 15.0,
        }
    }
}

/// One laboratory as the generator sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Laboratory {
    /// P01–P42.
    pub(super) id: &'static str,
    pub(super) name: &'static str,
    pub(super) email: &'static str,
    pub(super) group: Group,
    pub(super) organisation: Option<&'static str>,
    /// Significant digits with which it reports.
    pub(super) digits: u32,
    /// Factor on its own errors, in tenths: above 10 for weak laboratories.
    pub(super) weakness: u32,
}

const fn laboratory(id: &'static str, group: Group, name: &'static str, email: &'static str) -> Laboratory {
    Laboratory { id, name, email, group, organisation: None, digits: 3, weakness: 10 }
}

impl Laboratory {
    const fn of(mut self, organisation: &'static str) -> Self {
        self.organisation = Some(organisation);
        self
    }

    const fn with_digits(mut self, digits: u32) -> Self {
        self.digits = digits;
        self
    }

    const fn weak(mut self, tenths: u32) -> Self {
        self.weakness = tenths;
        self
    }
}

use Group::{M1, M2, M3, M4};

#[rustfmt::skip]
pub(super) const LABORATORIES: [Laboratory; 42] = [
    laboratory("P01", M1, "Wasserlabor Quellmoor", "ergebnisse@quellmoor.example").with_digits(4),
    laboratory("P02", M1, "Laboratoire des eaux de Sainte-Orvène", "resultats@sainte-orvene.example"),
    laboratory("P03", M1, "Vodní laboratoř Třebelná", "vysledky@trebelna.example"),
    laboratory("P04", M1, "Laboratorio de aguas Valdebruma", "resultados@valdebruma.example"),
    laboratory("P05", M1, "Vattenlaboratoriet Ålsjömora", "resultat@alsjomora.example").weak(20),
    laboratory("P06", M1, "Laboratório de águas Pedralume", "resultados@pedralume.example"),
    laboratory("P07", M1, "Vandlaboratoriet Hvidemøse", "resultater@hvidemose.example"),
    laboratory("P08", M1, "Laboratorium wody Źródłowiec", "wyniki@zrodlowiec.example"),
    laboratory("P09", M1, "Waterlaboratorium Zuiderkolk", "uitslagen@zuiderkolk.example"),
    laboratory("P10", M1, "Vesilaboratorio Hopeaselkä", "tulokset@hopeaselka.example"),
    laboratory("P11", M1, "Laboratorio acque Montelùcido", "risultati@montelucido.example").with_digits(2),
    laboratory("P12", M1, "Kékvölgyi vízlaboratórium", "eredmenyek@kekvolgy.example"),
    laboratory("P13", M1, "Norrhaven Water, northern laboratory", "north@norrhaven.example").of("Norrhaven Water"),
    laboratory("P14", M2, "Norrhaven Water, southern laboratory", "south@norrhaven.example").of("Norrhaven Water"),
    laboratory("P15", M2, "Laboratorij za vode Bistrogaj", "rezultati@bistrogaj.example"),
    laboratory("P16", M2, "Ūdens laboratorija Zilupmala", "rezultati@zilupmala.example"),
    laboratory("P17", M2, "Vandens laboratorija Žaliaupė", "rezultatai@zaliaupe.example"),
    laboratory("P18", M2, "Veelabor Sinijõe", "tulemused@sinijoe.example").weak(22),
    laboratory("P19", M2, "Laboratorul de ape Văleni-Argint", "rezultate@valeni-argint.example"),
    laboratory("P20", M2, "Gewässeranalytik Steinaubrück", "labor@steinaubrueck.example"),
    laboratory("P21", M2, "Umweltlabor Moosgrund", "labor@moosgrund.example"),
    laboratory("P22", M2, "Vannlaboratoriet Fjellvåken", "svar@fjellvaken.example"),
    laboratory("P23", M2, "Gümüşkaynak su laboratuvarı", "sonuclar@gumuskaynak.example"),
    laboratory("P24", M2, "Laboratoire hydrologique Val-d’Aubrelle", "laboratoire@val-aubrelle.example"),
    laboratory("P25", M2, "Harrowmere Water Laboratory", "results@harrowmere.example"),
    laboratory("P26", M2, "Laboratórium vôd Čierny Prameň", "vysledky@ciernypramen.example"),
    laboratory("P27", M3, "Thistlebeck Environmental Analysis", "results@thistlebeck.example").with_digits(2),
    laboratory("P28", M3, "Laboratorio ambiental Peñafluvia", "resultados@penafluvia.example"),
    laboratory("P29", M3, "Rannsóknastofa vatns Bláárdal", "nidurstodur@blaardal.example"),
    laboratory("P30", M3, "Saotharlann Uisce Loch Dubhghlas", "torthai@dubhghlas.example").weak(20),
    laboratory("P31", M3, "Laboratori d’aigües Riudeclar", "resultats@riudeclar.example"),
    laboratory("P32", M3, "Labor für Fliessgewässer Oberstetten-Au", "resultate@oberstetten-au.example"),
    laboratory("P33", M3, "Laboratorij za okolje Modrovrh", "rezultati@modrovrh.example"),
    laboratory("P34", M3, "Laboratorium środowiska Brzozołęg", "wyniki@brzozoleg.example"),
    laboratory("P35", M4, "Milieulab Veenderhaar", "lab@veenderhaar.example"),
    laboratory("P36", M4, "Laboratori i ujërave Gurëkaltër", "rezultate@gurekalter.example"),
    laboratory("P37", M4, "Spurenanalytik Föhrenlohe", "labor@foehrenlohe.example"),
    laboratory("P38", M4, "Miljölaboratoriet Granåsele", "svar@granasele.example").weak(18),
    laboratory("P39", M4, "Laboratorju tal-ilma Għajn Ħamra", "rizultati@ghajnhamra.example"),
    laboratory("P40", M4, "Labordy Dŵr Aberllwyfan", "canlyniadau@aberllwyfan.example"),
    laboratory("P41", M2, "Eawhaerf Water Testing", "results@eawhaerf.example"),
    laboratory("P42", M4, "Laboratoire des sources Clairgravier", "resultats@clairgravier.example"),
];
