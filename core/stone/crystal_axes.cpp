#include "core/stone/crystal_axes.h"

#include <Eigen/SVD>
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "core/base/error.h"
#include "core/base/units.h"

namespace macle {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

[[noreturn]] void refuse(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadInput, what, remedy);
}

// Outward normals of every face of a form, crystal frame.
const std::vector<Vector3d>& normalsOf(FaceForm form) {
    static const auto make = [](int ones) {
        std::vector<Vector3d> normals;
        for (int x = -1; x <= 1; ++x)
            for (int y = -1; y <= 1; ++y)
                for (int z = -1; z <= 1; ++z)
                    if (std::abs(x) + std::abs(y) + std::abs(z) == ones)
                        normals.push_back(Vector3d(x, y, z).normalized());
        return normals;
    };
    static const std::vector<Vector3d> cube = make(1);
    static const std::vector<Vector3d> dodecahedron = make(2);
    static const std::vector<Vector3d> octahedron = make(3);
    switch (form) {
        case FaceForm::Cube:
            return cube;
        case FaceForm::Dodecahedron:
            return dodecahedron;
        case FaceForm::Octahedron:
            break;
    }
    return octahedron;
}

double between_deg(const Vector3d& a, const Vector3d& b) {
    return degrees(std::atan2(a.cross(b).norm(), a.dot(b)));
}

Vector3d unit(const Vector3d& direction, const char* what) {
    const double length = direction.norm();
    if (!std::isfinite(length) || !(length > std::numeric_limits<double>::min()))
        refuse(std::string(what) + " has no length.", "Give a direction other than 0, 0, 0.");
    return direction / length;
}

// The proper rotation that brings `ideal` nearest to `picked`.
Matrix3d rotationBetween(const std::vector<Vector3d>& ideal, const std::vector<Vector3d>& picked) {
    Matrix3d sum = Matrix3d::Zero();
    for (std::size_t i = 0; i < ideal.size(); ++i)
        sum += picked[i] * ideal[i].transpose();
    const Eigen::JacobiSVD<Matrix3d> svd(sum, Eigen::ComputeFullU | Eigen::ComputeFullV);
    Matrix3d flip = Matrix3d::Identity();
    flip(2, 2) = (svd.matrixU() * svd.matrixV().transpose()).determinant() < 0.0 ? -1.0 : 1.0;
    return svd.matrixU() * flip * svd.matrixV().transpose();
}

// Of the sum of squared differences of unit normals: equal within rounding.
constexpr double kSameError = 1e-12;

struct Assignment {
    double error = std::numeric_limits<double>::infinity();
    std::vector<Vector3d> ideal;
    Matrix3d rotation = Matrix3d::Identity();
};

// Whether both turn the cube into the same cube.
bool sameCube(const Matrix3d& a, const Matrix3d& b) {
    constexpr double kAlong = 1.0 - 1e-6;
    const Matrix3d between = (a.transpose() * b).cwiseAbs();
    return between.colwise().maxCoeff().minCoeff() > kAlong;
}

// Calls `look` with every way of giving each face a normal of its form.
void forEachAssignment(const std::vector<NaturalFace>& faces, const std::vector<Vector3d>& picked,
                       const std::function<void(const Assignment&)>& look) {
    Assignment tried;
    tried.ideal.resize(faces.size());
    const auto assign = [&](const auto& self, std::size_t face) -> void {
        if (face < faces.size()) {
            for (const Vector3d& normal : normalsOf(faces[face].form)) {
                tried.ideal[face] = normal;
                self(self, face + 1);
            }
            return;
        }
        tried.rotation = rotationBetween(tried.ideal, picked);
        tried.error = 0.0;
        for (std::size_t i = 0; i < faces.size(); ++i)
            tried.error += (tried.rotation * tried.ideal[i] - picked[i]).squaredNorm();
        look(tried);
    };
    assign(assign, 0);
}

Assignment bestAssignment(const std::vector<NaturalFace>& faces,
                          const std::vector<Vector3d>& picked) {
    Assignment best;
    forEachAssignment(faces, picked, [&](const Assignment& tried) {
        const bool better = tried.error < best.error - kSameError;
        const bool same = !better && tried.error < best.error + kSameError;
        // The larger trace is the smaller turn away from the frame's axes.
        if (better || (same && tried.rotation.trace() > best.rotation.trace() + kSameError)) {
            const double error = std::min(tried.error, best.error);
            best = tried;
            best.error = error;
        }
    });
    return best;
}

}  // namespace

AxesFromFaces axesFromFaces(const std::vector<NaturalFace>& faces) {
    if (faces.size() != 2 && faces.size() != 3)
        refuse("Crystal axes need two or three natural faces, not " + std::to_string(faces.size()) +
                   ".",
               "Pick two or three faces that are not parallel.");
    std::vector<Vector3d> picked;
    for (const NaturalFace& face : faces)
        picked.push_back(unit(face.normal, "The normal of a face"));
    double widest = 0.0;
    for (std::size_t i = 0; i < picked.size(); ++i)
        for (std::size_t j = 0; j < i; ++j) {
            const double angle = between_deg(picked[i], picked[j]);
            widest = std::max(widest, std::min(angle, 180.0 - angle));
        }
    if (widest < tolerance::kParallelFaces_deg)
        refuse("The picked faces are parallel, so the turn about them stays open.",
               "Pick a face that stands at an angle to them.");

    const Assignment best = bestAssignment(faces, picked);
    AxesFromFaces result;
    result.axes.rotation = Eigen::Quaterniond(best.rotation).normalized();
    for (std::size_t i = 0; i < faces.size(); ++i) {
        result.axes.faces.push_back({faces[i].form, picked[i]});
        result.off_deg.push_back(between_deg(best.rotation * best.ideal[i], picked[i]));
    }
    for (std::size_t i = 0; i < faces.size(); ++i)
        for (std::size_t j = i + 1; j < faces.size(); ++j) {
            FacePair pair{static_cast<int>(i), static_cast<int>(j), 0.0, 0.0, 0.0};
            pair.measured_deg = between_deg(picked[i], picked[j]);
            pair.ideal_deg = between_deg(best.ideal[i], best.ideal[j]);
            pair.misfit_deg = pair.measured_deg - pair.ideal_deg;
            result.worst_deg = std::max(result.worst_deg, std::abs(pair.misfit_deg));
            result.pairs.push_back(pair);
        }
    forEachAssignment(faces, picked, [&](const Assignment& tried) {
        if (tried.error < best.error + kSameError && !sameCube(tried.rotation, best.rotation))
            result.ambiguous = true;
    });
    result.flagged = result.worst_deg > tolerance::kFaceMisfit_deg;
    return result;
}

CrystalAxes axesFromDirections(const Vector3d& towards001, const Vector3d& towards100) {
    const Vector3d z = unit(towards001, "The direction of [001]");
    const Vector3d given = unit(towards100, "The direction of [100]");
    const double angle = between_deg(z, given);
    if (std::min(angle, 180.0 - angle) < tolerance::kParallelFaces_deg)
        refuse("The directions of [001] and [100] are parallel.", "They stand at a right angle.");
    const Vector3d x = (given - z.dot(given) * z).normalized();
    Matrix3d rotation;
    rotation << x, z.cross(x), z;
    return {Eigen::Quaterniond(rotation).normalized(), {}};
}

double angleToForm_deg(const CrystalAxes& axes, FaceForm form, const Vector3d& direction) {
    const Vector3d inCrystal = axes.rotation.conjugate() * unit(direction, "The direction");
    double least = 180.0;
    for (const Vector3d& normal : normalsOf(form))
        least = std::min(least, between_deg(normal, inCrystal));
    return least;
}

TableInCrystal tableInCrystal(const CrystalAxes& axes, const Vector3d& tableNormal) {
    TableInCrystal table;
    table.toCube_deg = angleToForm_deg(axes, FaceForm::Cube, tableNormal);
    table.toOctahedron_deg = angleToForm_deg(axes, FaceForm::Octahedron, tableNormal);
    table.toDodecahedron_deg = angleToForm_deg(axes, FaceForm::Dodecahedron, tableNormal);
    table.off_deg = std::min({table.toCube_deg, table.toOctahedron_deg, table.toDodecahedron_deg});
    if (table.off_deg == table.toCube_deg)
        table.nearest = PointNaming::FourPoint;
    else if (table.off_deg == table.toOctahedron_deg)
        table.nearest = PointNaming::ThreePoint;
    else
        table.nearest = PointNaming::TwoPoint;
    return table;
}

const char* formName(FaceForm form) {
    switch (form) {
        case FaceForm::Cube:
            return "cube";
        case FaceForm::Octahedron:
            return "octahedron";
        case FaceForm::Dodecahedron:
            return "dodecahedron";
    }
    return "octahedron";
}

FaceForm formFromName(const std::string& name) {
    for (const FaceForm form : {FaceForm::Cube, FaceForm::Octahedron, FaceForm::Dodecahedron})
        if (name == formName(form)) return form;
    throw Error(ErrorCode::BadInput, "There is no form of face called '" + name + "'.",
                "Use one of: cube, octahedron, dodecahedron.");
}

const char* pointName(PointNaming naming) {
    switch (naming) {
        case PointNaming::FourPoint:
            return "four-point";
        case PointNaming::ThreePoint:
            return "three-point";
        case PointNaming::TwoPoint:
            return "two-point";
    }
    return "four-point";
}

}  // namespace macle
