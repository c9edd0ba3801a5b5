#include "core/bench/step_cautions.h"

namespace macle {

std::vector<std::string> stepCautions(BenchStepKind kind) {
    switch (kind) {
        case BenchStepKind::Saw:
            return {
                "Laser class 4: interlocked enclosure, eyewear for the wavelength. Blade: "
                "guards in place.",
                "Check strain and grain first; a strained stone may burst."};
        case BenchStepKind::Girdle:
            return {"Extract the dust of bruting; eye protection on."};
        case BenchStepKind::Table:
        case BenchStepKind::FirstMains:
        case BenchStepKind::FurtherMains:
        case BenchStepKind::Culet:
        case BenchStepKind::SmallFacets:
            return {"Nothing loose near the wheel; extract its dust, do not dry-sweep.",
                    "Let dop and stone cool slowly."};
        case BenchStepKind::GirdlePolish:
            return {"Nothing loose near the wheel; extract its dust."};
        case BenchStepKind::Check:
            return {"Acid: under a fume hood, face shield and gloves, by trained people only."};
        case BenchStepKind::ReferenceFace:
        case BenchStepKind::LeftOver:
            break;
    }
    return {};
}

std::vector<std::string> usualCautions() {
    return {
        "Laser: class 4. Work only in an interlocked enclosure, with eyewear for the wavelength.",
        "Wheel and saw: guards in place, eye protection on, nothing loose near a running scaife "
        "or blade.",
        "Dust: discs bonded with cobalt give off dust that harms the lungs. Extract at the wheel "
        "and do not dry-sweep.",
        "Heat: dop, solder and stone burn skin. A stone with cracks or strain may break when "
        "heated or cooled fast, and diamond oxidises in air when very hot.",
        "Acid: boil only under a fume hood, with face shield and gloves, by trained people.",
        "Check direction of grain and strain before sawing or polishing; this sheet does not "
        "replace the cutter's own examination of the stone.",
        "Follow local codes and licensed practice. Where they differ from this sheet, they "
        "prevail."};
}

}  // namespace macle
