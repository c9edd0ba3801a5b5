#include "core/bench/facet_rows.h"

#include <algorithm>
#include <map>

#include "core/base/error.h"
#include "core/bench/drawn_faces.h"

namespace macle {

namespace {

constexpr double kSameDistance_mm = 0.0005;  // not to be told apart at three decimals

std::map<std::string, FacetRow> rowsByName(const Design& design, double size_mm) {
    const std::vector<ConvexSolid> solids = solidsInCutFrame(design, size_mm);
    const double table_mm = boundsOf(solids).high.z();
    std::map<std::string, FacetRow> rows;  // parts share facets
    for (const DrawnFace& face : drawnFaces(design, solids, size_mm)) {
        double lowest = table_mm;
        for (const Eigen::Vector3d& corner : face.corners)
            lowest = std::min(lowest, corner.z());
        FacetRow& row = rows[face.facet->name];
        row.fromTable_mm = std::max(row.fromTable_mm, table_mm - lowest);
        if (!row.names.empty()) continue;
        row.facet = face.facet->name;
        row.names = {row.facet};
        row.angle_deg = facetAngle_deg(*face.facet);
        row.azimuth_deg = facetAzimuth_deg(*face.facet);
        row.centre_mm = face.facet->distance * size_mm;
    }
    return rows;
}

// One row for all flats when they lie equally far from the axis.
std::vector<FacetRow> joined(std::vector<FacetRow> flats) {
    if (flats.size() < 2) return flats;
    const auto [nearest, farthest] = std::minmax_element(
        flats.begin(), flats.end(),
        [](const FacetRow& a, const FacetRow& b) { return a.centre_mm < b.centre_mm; });
    if (farthest->centre_mm - nearest->centre_mm >= kSameDistance_mm) return flats;
    FacetRow row = *nearest;
    row.facet = "girdle 1-" + std::to_string(flats.size());
    row.count = static_cast<int>(flats.size());
    row.azimuth_deg = 0.0;
    row.names.clear();
    for (const FacetRow& flat : flats) {
        row.fromTable_mm = std::max(row.fromTable_mm, flat.fromTable_mm);
        row.names.push_back(flat.facet);
    }
    return {row};
}

}  // namespace

std::vector<FacetRow> facetRows(const Design& design, double size_mm,
                                const std::vector<FacetGroup>& groups) {
    const std::map<std::string, FacetRow> byName = rowsByName(design, size_mm);
    std::vector<FacetRow> rows;
    std::size_t listed = 0;
    for (std::size_t g = 0; g < groups.size(); ++g) {
        std::vector<FacetRow> own;
        for (const std::string& name : groups[g].facets)
            if (const auto found = byName.find(name); found != byName.end())
                own.push_back(found->second);
        listed += own.size();
        if (groups[g].kind == FacetGroupKind::Girdle) own = joined(std::move(own));
        for (FacetRow& row : own) {
            row.group = static_cast<int>(g);
            row.step = static_cast<int>(rows.size()) + 1;
            rows.push_back(std::move(row));
        }
    }
    require(listed == byName.size(), "every facet of the cut is listed once");
    return rows;
}

}  // namespace macle
