import java.io.FileInputStream;
import java.util.List;
import java.util.TreeMap;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/** Says of each file whether it is PDF/A-3a and PDF/UA-1: file, standard, verdict, broken rules. */
public final class Conformance {
    private Conformance() {}

    public static void main(String[] files) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        for (String file : files) {
            for (PDFAFlavour flavour : List.of(PDFAFlavour.PDFA_3_A, PDFAFlavour.PDFUA_1)) {
                try (FileInputStream stream = new FileInputStream(file);
                        PDFAParser parser = Foundries.defaultInstance().createParser(stream, flavour);
                        PDFAValidator validator = Foundries.defaultInstance().createValidator(flavour, false)) {
                    ValidationResult result = validator.validate(parser);
                    TreeMap<String, String> broken = new TreeMap<>();
                    for (TestAssertion assertion : result.getTestAssertions()) {
                        if (assertion.getStatus() == TestAssertion.Status.FAILED) {
                            String rule = assertion.getRuleId().getClause() + "-" + assertion.getRuleId().getTestNumber();
                            broken.put(rule, assertion.getMessage());
                        }
                    }
                    boolean good = result.isCompliant() && result.getTotalAssertions() > 0;
                    System.out.println(file + "\t" + flavour.getId() + "\t" + (good ? "good" : "broken") + "\t" + broken);
                }
            }
        }
    }
}
