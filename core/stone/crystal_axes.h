// The crystal's axes in the stone: from natural faces that were picked on the skin, or as typed.
// Diamond is cubic: natural faces are those of the cube, the octahedron and the dodecahedron.
// Stone frame, degrees. Thread contract: free functions, no shared state.
#pragma once

#include <Eigen/Geometry>
#include <optional>
#include <string>
#include <vector>

namespace macle {

namespace tolerance {
// Natural faces are rarely flatter; further off than this the faces are not what they are called.
inline constexpr double kFaceMisfit_deg = 2.0;
// Faces nearer to parallel than this leave the turn about them open.
inline constexpr double kParallelFaces_deg = 5.0;
}  // namespace tolerance

enum class FaceForm { Cube, Octahedron, Dodecahedron };

struct NaturalFace {
    FaceForm form = FaceForm::Octahedron;
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // outward, unit length
};

struct CrystalAxes {
    // Turns crystal directions ([100] = x, [010] = y, [001] = z) into the stone frame.
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
    std::vector<NaturalFace> faces;  // what they were derived from; none when typed
};

// Two picked faces: the angle between their normals, and the one that faces of those forms have
// which lies nearest (109.47, 70.53, 54.74, 125.26, 90, 45, 35.26, 60 ... degrees).
struct FacePair {
    int first = 0;
    int second = 0;
    double measured_deg = 0.0;
    double ideal_deg = 0.0;
    double misfit_deg = 0.0;  // measured - ideal
};

struct AxesFromFaces {
    CrystalAxes axes;
    std::vector<FacePair> pairs;
    std::vector<double> off_deg;  // per face: picked normal to the nearest ideal one
    double worst_deg = 0.0;       // largest |misfit| of a pair
    bool flagged = false;         // beyond tolerance::kFaceMisfit_deg
    // Another crystal would fit as well, for some pairs do not tell which side is which (an
    // octahedron face at 90 degrees to a dodecahedron face, two dodecahedron faces at 60 or 120):
    // a third face decides.
    bool ambiguous = false;
};

// The rotation that fits two or three faces best (least squares over the normals, Kabsch, Acta
// Cryst. A32 (1976) 922; every assignment of equivalent faces is tried). Of equivalent answers the
// one nearest to the frame's own axes is given. Throws Error{BadInput} for another number of faces,
// a normal without length, or faces that are parallel.
AxesFromFaces axesFromFaces(const std::vector<NaturalFace>& faces);

// As typed: the direction of [001] and one in the half-plane of [001] and [100]. Throws
// Error{BadInput} when one has no length or they are parallel.
CrystalAxes axesFromDirections(const Eigen::Vector3d& towards001,
                               const Eigen::Vector3d& towards100);

// How the table lies in the crystal, as the trade says it: parallel to a cube face (four-point), an
// octahedron face (three-point) or a dodecahedron face (two-point).
enum class PointNaming { FourPoint, ThreePoint, TwoPoint };
struct TableInCrystal {
    PointNaming nearest = PointNaming::FourPoint;
    double off_deg = 0.0;             // to the nearest
    double toCube_deg = 0.0;          // 0..54.74
    double toOctahedron_deg = 0.0;    // 0..54.74
    double toDodecahedron_deg = 0.0;  // 0..45
};
TableInCrystal tableInCrystal(const CrystalAxes& axes, const Eigen::Vector3d& tableNormal);

// Angle between a direction and the nearest normal of a form, 0..54.74 degrees.
double angleToForm_deg(const CrystalAxes& axes, FaceForm form, const Eigen::Vector3d& direction);

const char* formName(FaceForm form);             // "cube", "octahedron", "dodecahedron"
FaceForm formFromName(const std::string& name);  // throws Error{BadInput}
const char* pointName(PointNaming naming);       // "four-point", ...

}  // namespace macle
