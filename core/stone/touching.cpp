// Where a skin crosses or touches itself. Exact predicates, so that a yes or no never hangs on
// rounding; candidates by sorted boxes.
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/box_intersection_d.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/stone/skin.h"

namespace macle::skin {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Point = Kernel::Point_3;
using Corners = std::array<std::uint32_t, 3>;

// A box per triangle, with its number as identity.
class TriangleBox {
  public:
    using NT = double;
    using ID = std::size_t;
    TriangleBox(std::uint32_t triangle, const Eigen::Vector3d& low, const Eigen::Vector3d& high)
        : triangle_(triangle),
          low_{low.x(), low.y(), low.z()},
          high_{high.x(), high.y(), high.z()} {}
    static int dimension() { return 3; }
    ID id() const { return triangle_; }
    double min_coord(int axis) const { return low_[static_cast<std::size_t>(axis)]; }
    double max_coord(int axis) const { return high_[static_cast<std::size_t>(axis)]; }
    std::uint32_t triangle() const { return triangle_; }

  private:
    std::uint32_t triangle_;
    std::array<double, 3> low_, high_;
};

struct EnoughFound {};

class Check {
  public:
    Check(const TriangleMesh& mesh, Touching& found, Progress* progress)
        : mesh_(mesh), found_(found), progress_(progress) {
        points_.reserve(mesh.vertices.size());
        for (const Eigen::Vector3d& v : mesh.vertices)
            points_.emplace_back(v.x(), v.y(), v.z());
    }

    void operator()(const TriangleBox& one, const TriangleBox& two) {
        poll(progress_, ++candidates_);
        // Boxes overlap everywhere only in a surface made to keep us busy.
        if (candidates_ > kMostCandidates)
            throw Error(ErrorCode::BadInput,
                        "The triangles of the surface overlap one another too much to be checked.",
                        "Rebuild the surface with better shaped triangles.");
        // Always in the same order, whichever the sorting met first.
        const std::uint32_t t = std::min(one.triangle(), two.triangle());
        const std::uint32_t u = std::max(one.triangle(), two.triangle());
        if (!touch(mesh_.triangles[t], mesh_.triangles[u])) return;
        ++found_.pairs;
        hits_.emplace_back(t, u);
        if (found_.pairs >= kMostPairs) {
            found_.more = true;
            throw EnoughFound();
        }
    }

    void listPlaces() {
        std::sort(hits_.begin(), hits_.end());
        for (const auto& [t, u] : hits_) {
            if (found_.places.size() >= 20) break;
            found_.places.push_back(commonPlace(mesh_.triangles[t], mesh_.triangles[u]));
        }
    }

  private:
    static constexpr std::size_t kMostCandidates = 500'000'000;

    const Point& at(std::uint32_t vertex) const { return points_[vertex]; }

    // Middle of what the boxes of two triangles have in common.
    Eigen::Vector3d commonPlace(const Corners& one, const Corners& two) const {
        const auto& v = mesh_.vertices;
        const Eigen::Vector3d low = v[one[0]].cwiseMin(v[one[1]]).cwiseMin(v[one[2]]).cwiseMax(
            v[two[0]].cwiseMin(v[two[1]]).cwiseMin(v[two[2]]));
        const Eigen::Vector3d high = v[one[0]].cwiseMax(v[one[1]]).cwiseMax(v[one[2]]).cwiseMin(
            v[two[0]].cwiseMax(v[two[1]]).cwiseMax(v[two[2]]));
        return 0.5 * (low + high);
    }

    bool touch(const Corners& one, const Corners& two) const {
        int shared = 0;
        std::size_t inOne[3] = {}, inTwo[3] = {};
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = 0; j < 3; ++j)
                if (one[i] == two[j] && shared < 3) {
                    inOne[shared] = i;
                    inTwo[shared] = j;
                    ++shared;
                }
        if (shared == 0)
            return CGAL::do_intersect(Kernel::Triangle_3(at(one[0]), at(one[1]), at(one[2])),
                                      Kernel::Triangle_3(at(two[0]), at(two[1]), at(two[2])));
        if (shared == 1) return touchBesideVertex(one, inOne[0], two, inTwo[0]);
        if (shared == 2)
            return foldedOver(one[inOne[0]], one[inOne[1]], one[3 - inOne[0] - inOne[1]],
                              two[3 - inTwo[0] - inTwo[1]]);
        return true;
    }

    // Beyond a common vertex two triangles meet only where the far edge of one meets the other.
    bool touchBesideVertex(const Corners& one, std::size_t i, const Corners& two,
                           std::size_t j) const {
        const Point &a = at(one[i]), &b = at(one[(i + 1) % 3]), &c = at(one[(i + 2) % 3]);
        const Point &d = at(two[(j + 1) % 3]), &e = at(two[(j + 2) % 3]);
        const CGAL::Orientation sideB = CGAL::orientation(a, d, e, b);
        if (sideB != CGAL::COPLANAR && sideB == CGAL::orientation(a, d, e, c)) return false;
        const CGAL::Orientation sideD = CGAL::orientation(a, b, c, d);
        if (sideD != CGAL::COPLANAR && sideD == CGAL::orientation(a, b, c, e)) return false;
        return CGAL::do_intersect(Kernel::Segment_3(b, c), Kernel::Triangle_3(a, d, e)) ||
               CGAL::do_intersect(Kernel::Segment_3(d, e), Kernel::Triangle_3(a, b, c));
    }

    // Two triangles on a common edge lie on one another only when flat and on one side of it.
    bool foldedOver(std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) const {
        const auto& v = mesh_.vertices;
        const Eigen::Vector3d n = (v[b] - v[a]).cross(v[c] - v[a]);
        const Eigen::Vector3d m = (v[b] - v[a]).cross(v[d] - v[a]);
        // Far from folded: settled without exact arithmetic, which is needed only near it.
        if (n.dot(m) < 0.9 * n.norm() * m.norm()) return false;
        return CGAL::coplanar(at(a), at(b), at(c), at(d)) &&
               CGAL::coplanar_orientation(at(a), at(b), at(c), at(d)) == CGAL::POSITIVE;
    }

    const TriangleMesh& mesh_;
    Touching& found_;
    Progress* progress_;
    std::vector<Point> points_;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> hits_;
    std::size_t candidates_ = 0;
};

}  // namespace

Touching findTouching(const TriangleMesh& mesh, Progress* progress) {
    std::vector<TriangleBox> boxes;
    boxes.reserve(mesh.triangles.size());
    for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
        poll(progress, t);
        const auto& [a, b, c] = mesh.triangles[t];
        const Eigen::Vector3d &p = mesh.vertices[a], &q = mesh.vertices[b], &r = mesh.vertices[c];
        boxes.emplace_back(t, p.cwiseMin(q).cwiseMin(r), p.cwiseMax(q).cwiseMax(r));
    }
    Touching found;
    Check check(mesh, found, progress);
    try {
        CGAL::box_self_intersection_d(
            boxes.begin(), boxes.end(),
            [&check](const TriangleBox& one, const TriangleBox& two) { check(one, two); });
    } catch (const EnoughFound&) {
        // Hopelessly tangled; the first places say enough.
    }
    check.listPlaces();
    return found;
}

}  // namespace macle::skin
