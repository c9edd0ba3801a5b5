#include "core/cut/facet_kind.h"

namespace macle {

FacetKind facetKindOf(const std::string& row) {
    const auto ends = [&](const std::string& words) { return row.ends_with(words); };
    if (row == "table") return FacetKind::Table;
    if (row == "culet") return FacetKind::Culet;
    if (ends("girdle")) return FacetKind::Girdle;
    if (ends("star")) return FacetKind::Star;
    if (ends("upper half")) return FacetKind::UpperHalf;
    if (ends("lower half")) return FacetKind::LowerHalf;
    if (ends("crown main")) return FacetKind::CrownMain;
    if (ends("pavilion main")) return FacetKind::PavilionMain;
    if (ends("crown step")) return FacetKind::CrownStep;
    if (ends("pavilion step")) return FacetKind::PavilionStep;
    return FacetKind::Other;
}

}  // namespace macle
