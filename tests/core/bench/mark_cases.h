// A stone, a layout and what its saws make of the rough, for the tests of marks.
#pragma once

#include <Eigen/Geometry>
#include <numbers>

#include "core/bench/marks.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

namespace macle::marks_test {

struct Case {
    Rough rough;
    Layout layout;

    Case(Rough body, double size_mm) : rough(std::move(body)) {
        layout.main().placement.size_mm = size_mm;
    }
    Division division() const { return divide(rough, RoughCutter(rough), layout.saws); }
    ReferenceFace reference(std::size_t stone = 0) const {
        return referenceFaceOf(rough.mesh, layout, division(), stone);
    }
    Marks marks(const MarkRequest& request = {}) const {
        return marksOf(rough.mesh, layout, division(), request);
    }
    void turn(const Eigen::Quaterniond& by, const Eigen::Vector3d& shift) {
        for (Eigen::Vector3d& v : rough.mesh.vertices)
            v = by * v + shift;
        for (PlannedStone& stone : layout.stones) {
            stone.placement.rotation = by * stone.placement.rotation;
            stone.placement.translation_mm = by * stone.placement.translation_mm + shift;
        }
        for (Saw& saw : layout.saws) {
            saw.normal = (by * saw.normal).normalized();
            saw.offset_mm += saw.normal.dot(shift);
            if (saw.v) saw.v->beam = by * saw.v->beam;
        }
    }
};

// Height of the table of a round of standard proportions over its mid-girdle, for size 1.
inline double roundTable() {
    const Design design = makeDesign("round", {});
    for (const Facet& facet : design.parts[0].facets)
        if (facet.kind == FacetKind::Table) return facet.distance;
    return 0.0;
}

inline Saw saw(const Eigen::Vector3d& normal, double offset_mm, double kerf_mm, int piece = 0) {
    Saw made;
    made.normal = normal.normalized();
    made.offset_mm = offset_mm;
    made.kerf_mm = kerf_mm;
    made.piece = piece;
    return made;
}

}  // namespace macle::marks_test
