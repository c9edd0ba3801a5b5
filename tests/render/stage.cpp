#include "stage.h"

#include <vtkCamera.h>
#include <vtkRenderer.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"

namespace macle::render::test {

Stone bumpyBall() {
    Stone stone = octahedronStone(1.0, 5);
    stone.name = "bumpy ball";
    for (Eigen::Vector3d& vertex : stone.rough.mesh.vertices) {
        const Eigen::Vector3d u = vertex.normalized();
        vertex = u * (5.0 + 0.20 * std::sin(5.0 * u.x() + 2.0 * u.y()) * std::cos(4.0 * u.z()) +
                      0.05 * std::sin(14.0 * u.y() - 9.0 * u.z()));
    }
    stone.rough.volume_mm3 = signedVolume_mm3(stone.rough.mesh);
    return stone;
}

Defect ball(const Eigen::Vector3d& centre_mm, double radius_mm, int severity) {
    Defect defect;
    defect.name = "ball";
    defect.shape = Ellipsoid{centre_mm, Eigen::Vector3d::Constant(radius_mm)};
    defect.severity = severity;
    return defect;
}

std::vector<ConvexSolid> roundSolids() {
    std::vector<ConvexSolid> solids;
    for (const ConvexPart& part : makeDesign("round", {}).parts)
        solids.push_back(makeSolid(part));
    return solids;
}

Placement placedAt(const Eigen::Vector3d& translation_mm, double size_mm,
                   const Eigen::Vector3d& axis, double turn_deg) {
    Placement placement;
    placement.translation_mm = translation_mm;
    placement.size_mm = size_mm;
    placement.rotation =
        Eigen::Quaterniond(Eigen::AngleAxisd(radians(turn_deg), axis.normalized()));
    return placement;
}

ConvexSolid boxSolid(const Eigen::Vector3d& low, const Eigen::Vector3d& high) {
    // Not about the origin, so it is made by hand: corner bits are x, y, z.
    ConvexSolid solid;
    for (int corner = 0; corner < 8; ++corner)
        solid.vertices.emplace_back((corner & 1) != 0 ? high.x() : low.x(),
                                    (corner & 2) != 0 ? high.y() : low.y(),
                                    (corner & 4) != 0 ? high.z() : low.z());
    const std::vector<std::vector<int>> faces = {{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4},
                                                 {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}};
    for (int face = 0; face < 6; ++face)
        solid.faces.push_back({face, faces[static_cast<std::size_t>(face)], 0.0});
    return solid;
}

double pixelsPerMm(const Scene& scene, const Picture& picture) {
    const double scale = scene.renderer()->GetActiveCamera()->GetParallelScale();
    // A picture narrower than high shows as much as a square one.
    return 0.5 * std::min(picture.height_px, picture.width_px) / scale;
}

Pixel project(const Scene& scene, const Picture& picture, const Eigen::Vector3d& point_mm) {
    vtkCamera* camera = scene.renderer()->GetActiveCamera();
    const Eigen::Vector3d focus(camera->GetFocalPoint());
    const Eigen::Vector3d towards = (focus - Eigen::Vector3d(camera->GetPosition())).normalized();
    const Eigen::Vector3d right = towards.cross(Eigen::Vector3d(camera->GetViewUp())).normalized();
    const Eigen::Vector3d up = right.cross(towards);
    const double scale = pixelsPerMm(scene, picture);
    return {0.5 * picture.width_px + scale * (point_mm - focus).dot(right),
            0.5 * picture.height_px - scale * (point_mm - focus).dot(up)};
}

Rgb colourAt(const Picture& picture, int x, int y) {
    const std::size_t at =
        3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width_px) +
             static_cast<std::size_t>(x));
    return {picture.rgb.at(at) / 255.0, picture.rgb.at(at + 1) / 255.0,
            picture.rgb.at(at + 2) / 255.0};
}

Rgb colourAt(const Picture& picture, const Pixel& at) {
    return colourAt(picture, static_cast<int>(std::floor(at.x())),
                    static_cast<int>(std::floor(at.y())));
}

double distance(const Rgb& a, const Rgb& b) {
    double most = 0.0;
    for (std::size_t k = 0; k < 3; ++k)
        most = std::max(most, std::abs(a[k] - b[k]));
    return most;
}

double brightness(const Rgb& colour) {
    return 0.2126 * colour[0] + 0.7152 * colour[1] + 0.0722 * colour[2];
}

double meanDifference(const Picture& a, const Picture& b) {
    if (a.rgb.size() != b.rgb.size() || a.rgb.empty()) return 255.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < a.rgb.size(); ++i)
        sum += std::abs(int{a.rgb[i]} - int{b.rgb[i]});
    return sum / static_cast<double>(a.rgb.size());
}

Blob blob(const Picture& picture, const std::function<bool(const Rgb&)>& wanted) {
    Blob found;
    for (int y = 0; y < picture.height_px; ++y) {
        for (int x = 0; x < picture.width_px; ++x) {
            if (!wanted(colourAt(picture, x, y))) continue;
            ++found.count;
            found.middle += Pixel(x + 0.5, y + 0.5);
        }
    }
    if (found.count > 0) found.middle /= static_cast<double>(found.count);
    return found;
}

}  // namespace macle::render::test
