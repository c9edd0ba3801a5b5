#include "core/cut/facet_edit.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/cut/facet_kind.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr int kMostCopies = 64;  // as many as a round's girdle has flats

[[noreturn]] void refuse(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadUsage, what, remedy);
}

void checkNumbers(const FacetEdit& e) {
    for (const double number : {e.angle_deg, e.azimuth_deg, e.distance_percent, e.tilt_deg,
                                e.hold_percent, e.turn_deg, e.shift_percent})
        if (!std::isfinite(number))
            refuse("A number of the change to \"" + e.facet + "\" is not finite.",
                   "Give plain numbers.");
}

bool isMeant(const Facet& facet, const FacetEdit& edit) {
    return edit.wholeRow ? rowOf(facet.name) == rowOf(edit.facet) : facet.name == edit.facet;
}

void checkCentre(const Facet& facet) {
    if (facet.distance > tolerance::kOnPlane_mm) return;
    refuse("\"" + facet.name + "\" would pass the centre of the cut or leave it outside.",
           "Change it by less.");
}

// Steeper by tilt_deg, turning about the level line of the plane at the held height.
void tilt(Facet& facet, const FacetEdit& edit) {
    const double across = std::hypot(facet.normal.x(), facet.normal.y());
    if (across <= tolerance::kOnPlane_mm)
        refuse("\"" + facet.name + "\" is level, so it has no way to be steeper.",
               "Remove it and add one at an angle.");
    const double side = facet.normal.z() < 0.0 ? -1.0 : 1.0;
    const double angle = std::atan2(across, side * facet.normal.z()) + radians(edit.tilt_deg);
    if (!(angle > 0.0 && degrees(angle) <= 90.0))
        refuse("\"" + facet.name + "\" would stand at " + formatFixed(degrees(angle), 3) +
                   " degrees to the girdle plane.",
               "Keep it above 0 and up to 90 degrees.");
    const double height = edit.hold_percent / 100.0;
    const double reach = (facet.distance - facet.normal.z() * height) / across;
    const Vector3d outward(facet.normal.x() / across, facet.normal.y() / across, 0.0);
    facet.normal = std::sin(angle) * outward + Vector3d(0.0, 0.0, side * std::cos(angle));
    facet.normal.normalize();
    facet.distance = std::sin(angle) * reach + facet.normal.z() * height;
}

void turn(Facet& facet, double turn_deg) {
    const double c = std::cos(radians(turn_deg));
    const double s = std::sin(radians(turn_deg));
    const Vector3d n = facet.normal;
    facet.normal = Vector3d(c * n.x() - s * n.y(), s * n.x() + c * n.y(), n.z()).normalized();
}

int highestNumber(const Design& design, const std::string& row) {
    int highest = 0;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            if (facet.name != row && rowOf(facet.name) == row)
                highest = std::max(
                    highest,
                    static_cast<int>(parseInteger(facet.name.substr(row.size() + 1)).value_or(0)));
    return highest;
}

Design withAdded(const Design& design, const FacetEdit& e) {
    if (e.facet.empty() || rowOf(e.facet) != e.facet)
        refuse("A new facet needs the name of its row, without a number.",
               "Name it, for example \"pavilion main\".");
    if (!(e.angle_deg >= 0.0 && e.angle_deg <= 90.0))
        refuse("A facet cannot stand at " + formatExact(e.angle_deg) + " degrees.",
               "Give 0 (level) to 90 (upright).");
    if (e.copies < 1 || e.copies > kMostCopies)
        refuse("There cannot be " + std::to_string(e.copies) + " copies of a facet.",
               "Give 1 to " + std::to_string(kMostCopies) + ".");
    std::vector<Facet> made;
    int number = highestNumber(design, e.facet);
    for (int k = 0; k < e.copies; ++k)
        for (const double sign : {1.0, -1.0}) {
            if (sign < 0.0 && !e.mirrored) continue;
            const double azimuth = radians(sign * e.azimuth_deg + 360.0 * k / e.copies);
            const double across = std::sin(radians(e.angle_deg));
            const double up = (e.crown ? 1.0 : -1.0) * std::cos(radians(e.angle_deg));
            Facet facet;
            facet.kind = facetKindOf(e.facet);
            facet.normal = Vector3d(across * std::cos(azimuth), across * std::sin(azimuth), up);
            facet.distance = e.distance_percent / 100.0;
            const bool there = std::any_of(made.begin(), made.end(), [&](const Facet& f) {
                return (f.normal - facet.normal).norm() <= tolerance::kOnPlane_mm;
            });
            if (there) continue;  // its own mirror image
            facet.name = e.facet + " " + std::to_string(++number);
            checkCentre(facet);
            made.push_back(facet);
        }
    Design result = design;
    result.changes.push_back(describe(e));
    for (ConvexPart& part : result.parts)
        part.facets.insert(part.facets.end(), made.begin(), made.end());
    return result;
}

}  // namespace

std::string rowOf(const std::string& facetName) {
    const std::size_t space = facetName.find_last_of(' ');
    if (space == std::string::npos || space + 1 == facetName.size() ||
        facetName.find_first_not_of("0123456789", space + 1) != std::string::npos)
        return facetName;
    return facetName.substr(0, space);
}

void append(std::vector<FacetEdit>& edits, const FacetEdit& edit) {
    using What = FacetEdit::What;
    const bool goesOn =
        !edits.empty() && edits.back().what == edit.what && edits.back().facet == edit.facet &&
        edits.back().wholeRow == edit.wholeRow && edits.back().hold_percent == edit.hold_percent &&
        (edit.what == What::Tilt || edit.what == What::Turn || edit.what == What::Shift);
    if (!goesOn) {
        edits.push_back(edit);
        return;
    }
    FacetEdit& last = edits.back();
    // The sums of typed steps: what is below the last place of a step is rounding.
    const auto sum = [](double a, double b) {
        return std::abs(a + b) <= tolerance::kOnPlane_mm ? 0.0 : a + b;
    };
    last.tilt_deg = sum(last.tilt_deg, edit.tilt_deg);
    last.turn_deg = sum(last.turn_deg, edit.turn_deg);
    last.shift_percent = sum(last.shift_percent, edit.shift_percent);
    if (last.tilt_deg == 0.0 && last.turn_deg == 0.0 && last.shift_percent == 0.0) edits.pop_back();
}

Design edited(const Design& design, const FacetEdit& edit) {
    checkNumbers(edit);
    if (edit.what == FacetEdit::What::Add) return withAdded(design, edit);
    Design result = design;
    result.changes.push_back(describe(edit));
    bool found = false;
    for (ConvexPart& part : result.parts) {
        for (Facet& facet : part.facets) {
            if (!isMeant(facet, edit)) continue;
            found = true;
            if (edit.what == FacetEdit::What::Tilt) tilt(facet, edit);
            if (edit.what == FacetEdit::What::Turn) turn(facet, edit.turn_deg);
            if (edit.what == FacetEdit::What::Shift) facet.distance += edit.shift_percent / 100.0;
            if (edit.what != FacetEdit::What::Remove) checkCentre(facet);
        }
        if (edit.what == FacetEdit::What::Remove)
            std::erase_if(part.facets, [&](const Facet& f) { return isMeant(f, edit); });
        if (part.facets.empty())
            refuse("Nothing would be left of the cut.", "Keep some of its facets.");
    }
    if (!found)
        refuse("The cut \"" + design.cut + "\" has no facet \"" + edit.facet + "\".",
               "`macle shape` lists its facets.");
    return result;
}

Design edited(Design design, const std::vector<FacetEdit>& edits) {
    for (const FacetEdit& edit : edits)
        design = edited(design, edit);
    return design;
}

std::string describe(const FacetEdit& edit) {
    // Typed steps carry the rounding of what was shown; four decimals tell them all apart.
    const auto shown = [](double value) {
        std::string text = formatFixed(value, 4);
        while (text.back() == '0')
            text.pop_back();
        if (text.back() == '.') text.pop_back();
        return text;
    };
    const std::string whom = edit.wholeRow ? "every " + rowOf(edit.facet) : edit.facet;
    switch (edit.what) {
        case FacetEdit::What::Add:
            return "Add " + whom + " at " + shown(edit.angle_deg) + " deg";
        case FacetEdit::What::Tilt:
            return "Tilt " + whom + " by " + shown(edit.tilt_deg) + " deg";
        case FacetEdit::What::Turn:
            return "Turn " + whom + " by " + shown(edit.turn_deg) + " deg";
        case FacetEdit::What::Shift:
            return "Shift " + whom + " by " + shown(edit.shift_percent) + " %";
        case FacetEdit::What::Remove:
            return "Remove " + whom;
    }
    return whom;
}

}  // namespace macle
