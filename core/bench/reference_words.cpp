#include <cmath>

#include "core/base/numbers.h"
#include "core/bench/reference_face.h"

namespace macle {

namespace {

std::string mm(double value) {
    return formatFixed(value, 3) + " mm";
}
std::string deg(double value) {
    return formatFixed(value, 2) + " deg";
}
std::string place(const Eigen::Vector3d& p, int decimals) {
    return "(" + formatFixed(p.x(), decimals) + ", " + formatFixed(p.y(), decimals) + ", " +
           formatFixed(p.z(), decimals) + ")";
}

}  // namespace

std::vector<std::string> referenceFaceWords(const ReferenceFace& face) {
    std::vector<std::string> words;
    const std::string plane = "Plane n.x = " + mm(face.plane.offset_mm) +
                              ", n = " + place(face.plane.normal, 5) + " in the frame of the scan.";
    if (face.saw >= 0) {
        words.push_back("The face left by saw " + std::to_string(face.saw + 1) + ": the " +
                        face.facet + " lies " + mm(face.toTable_mm) + " below it, leaning by " +
                        deg(face.toTable_deg) + ". " + plane);
    } else {
        words.push_back("The " + face.facet + ". " + plane);
        if (face.toGrind_mm > 0.0)
            words.push_back("Grind " + mm(face.toGrind_mm) + " from the highest place of the " +
                            "piece, square to n.");
    }
    for (std::size_t p = 0; p < face.points.size(); ++p) {
        const ReferencePoint& point = face.points[p];
        words.push_back(
            std::string(1, static_cast<char>('A' + p)) + ": " + point.point.words() + " at " +
            place(point.point.place_mm, 2) + ": " + mm(std::abs(point.below_mm)) +
            (point.groundAway() ? " above the plane, ground away" : " below the plane") +
            (point.decides ? "" : "; to check"));
    }
    for (const ReferenceAngle& angle : face.angles)
        words.push_back("Angle to " + angle.face + ": " + deg(angle.between_deg) +
                        (angle.between_deg > 89.995 ? ""
                         : angle.sameWay            ? ", on the plane's side"
                                                    : ", on the far side"));
    if (face.firmness)
        words.push_back("With each distance wrong by " + mm(tolerance::kGauge_mm) +
                        " the plane is off by " + mm(face.firmness->shift_mm) + " in its middle, " +
                        mm(face.firmness->edge_mm) + " at the border and " +
                        deg(face.firmness->tilt_deg) + " at most.");
    words.insert(words.end(), face.remarks.begin(), face.remarks.end());
    return words;
}

}  // namespace macle
