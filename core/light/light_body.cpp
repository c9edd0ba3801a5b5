#include "core/light/light_body.h"

#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/light/facet_table.h"

namespace macle {

LightBody::LightBody(const Design& design, double size_mm, const Material& material)
    : design_(design), size_mm_(size_mm), material_(material) {
    if (!(size_mm > 0.0) || !std::isfinite(size_mm))
        throw Error(ErrorCode::BadUsage,
                    "Light is traced through a stone of " + formatExact(size_mm) + " mm.",
                    "Give a size above 0 mm.");
    if (design.parts.empty())
        throw Error(ErrorCode::BadUsage, "The design has no parts.", "Give it facets.");
    refractiveIndex(material_, 550.0);  // refuses a material of unknown index
    for (const ConvexPart& part : design_.parts)
        views_.push_back(
            tables_.emplace_back(std::make_unique<light::FacetTable>(part, size_mm)).get());
    bool first = true;
    for (const auto& table : tables_)
        for (int face = 0; face < table->faces(); ++face)
            for (const Eigen::Vector3d& corner : table->corners(face)) {
                bounds_.low = first ? corner : bounds_.low.cwiseMin(corner).eval();
                bounds_.high = first ? corner : bounds_.high.cwiseMax(corner).eval();
                first = false;
            }
    findInnerFaces();
}

void LightBody::findInnerFaces() {
    const double near = light::kSamePlace * size_mm_;
    for (const auto& own : tables_) {
        auto& inner = goesOn_.emplace_back(static_cast<std::size_t>(own->faces()), 0);
        for (int face = 0; face < own->faces(); ++face)
            for (const auto& other : tables_) {
                if (other == own) continue;
                bool apart = false;  // all of it on or beyond one plane of the other part
                for (int plane = 0; plane < other->faces() && !apart; ++plane) {
                    apart = true;
                    for (const Eigen::Vector3d& corner : own->corners(face))
                        apart = apart &&
                                other->distance(plane) - other->normal(plane).dot(corner) <= near;
                }
                if (!apart) inner[static_cast<std::size_t>(face)] = 1;
            }
    }
}

LightBody::~LightBody() = default;
LightBody::LightBody(LightBody&&) noexcept = default;
LightBody& LightBody::operator=(LightBody&&) noexcept = default;

const Facet& LightBody::facet(int part, int facet) const {
    return design_.parts[static_cast<std::size_t>(part)].facets[static_cast<std::size_t>(facet)];
}

bool LightBody::contains(const Eigen::Vector3d& point) const {
    return mayReach(point, tolerance::kOnPlane_mm);
}

bool LightBody::mayReach(const Eigen::Vector3d& centre, double radius_mm) const {
    for (const auto& table : tables_)
        if (table->holds(centre, -radius_mm)) return true;
    return false;
}

bool LightBody::staysOut(int part, const Eigen::Vector3d& point,
                         const Eigen::Vector3d& direction) const {
    for (std::size_t other = 0; other < tables_.size(); ++other)
        if (static_cast<int>(other) != part &&
            !tables_[other]->keepsOut(point, direction, light::kSamePlace * size_mm_))
            return false;
    return true;
}

LightBody::Meeting LightBody::firstMeeting(const Eigen::Vector3d& origin,
                                           const Eigen::Vector3d& direction, double from_mm) const {
    Meeting meeting;
    for (std::size_t part = 0; part < tables_.size(); ++part) {
        double enters = 0.0, leaves = 0.0;
        int entry = -1, exit = -1;
        if (!tables_[part]->interval(origin, direction, enters, leaves, entry, exit)) continue;
        if (entry < 0 || enters < from_mm) continue;
        if (meeting.part >= 0 && enters >= meeting.distance_mm) continue;
        meeting.part = static_cast<int>(part);
        meeting.facet = tables_[part]->facetOf(entry);
        meeting.distance_mm = enters;
        meeting.normal = tables_[part]->normal(entry);
    }
    return meeting;
}

}  // namespace macle
