// Design: a cut as a union of convex parts, each a list of facet planes n.x <= d with d > 0.
// Cut frame, for size 1: z up through the table, origin on the axis at mid-girdle, x along index 0,
// azimuth counter-clockwise seen from the table. Multiply lengths by the size to get mm.
#pragma once

#include <Eigen/Core>
#include <map>
#include <string>
#include <vector>

namespace macle {

enum class FacetKind {
    Table,
    Star,
    CrownMain,
    UpperHalf,
    Girdle,
    LowerHalf,
    PavilionMain,
    Culet,
    CrownStep,
    PavilionStep,
    Other
};

struct Facet {
    std::string name;  // full trade name with a number: "pavilion main 3", "table"
    FacetKind kind = FacetKind::Other;
    Eigen::Vector3d normal;  // unit, outward
    double distance = 0.0;   // from the origin, for size 1; > 0
};

struct ConvexPart {
    std::vector<Facet> facets;
};

struct Design {
    std::string cut;                            // "round"
    std::map<std::string, double> proportions;  // as given: "table_percent", "crown_deg", ...
    std::vector<ConvexPart> parts;
    std::vector<std::string> changes = {};  // of facets by hand, in words; see facet_edit.h
};

// Between the facet plane and the girdle plane, 0 (table, culet) .. 90 (girdle). Degrees.
double facetAngle_deg(const Facet& facet);
// 0 .. 360, counter-clockwise seen from the table; 0 for table and culet.
double facetAzimuth_deg(const Facet& facet);

}  // namespace macle
