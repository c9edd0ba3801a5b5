// Where a skin crosses or touches itself. Exact predicates, so that a yes or no never hangs on
// rounding; candidates by sorted boxes.
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/box_intersection_d.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <limits>
#include <thread>

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

using Hits = std::vector<std::pair<std::uint32_t, std::uint32_t>>;

// Boxes overlap everywhere only in a surface made to keep us busy.
struct Candidates {
    static constexpr std::size_t kMost = 500'000'000;
    std::atomic<std::size_t> count{0};
};

// Middle of what the boxes of two triangles have in common.
Eigen::Vector3d commonPlace(const TriangleMesh& mesh, std::uint32_t t, std::uint32_t u) {
    const Corners &one = mesh.triangles[t], &two = mesh.triangles[u];
    const auto& v = mesh.vertices;
    const Eigen::Vector3d low = v[one[0]].cwiseMin(v[one[1]]).cwiseMin(v[one[2]]).cwiseMax(
        v[two[0]].cwiseMin(v[two[1]]).cwiseMin(v[two[2]]));
    const Eigen::Vector3d high = v[one[0]].cwiseMax(v[one[1]]).cwiseMax(v[one[2]]).cwiseMin(
        v[two[0]].cwiseMax(v[two[1]]).cwiseMax(v[two[2]]));
    return 0.5 * (low + high);
}

class Check {
  public:
    Check(const TriangleMesh& mesh, const std::vector<Point>& points, Candidates& candidates,
          Progress* progress)
        : mesh_(mesh), points_(points), candidates_(candidates), progress_(progress) {}

    // Of a pair whose boxes overlap, whether or not it is looked at here.
    void count() {
        poll(progress_, ++looked_);
        if (looked_ % kCountEvery == 0 && (candidates_.count += kCountEvery) > Candidates::kMost)
            throw Error(ErrorCode::BadInput,
                        "The triangles of the surface overlap one another too much to be checked.",
                        "Rebuild the surface with better shaped triangles.");
    }

    void look(const TriangleBox& one, const TriangleBox& two) {
        // Always in the same order, whichever the sorting met first.
        const std::uint32_t t = std::min(one.triangle(), two.triangle());
        const std::uint32_t u = std::max(one.triangle(), two.triangle());
        if (!touch(mesh_.triangles[t], mesh_.triangles[u])) return;
        hits_.emplace_back(t, u);
        if (hits_.size() >= static_cast<std::size_t>(kMostPairs)) throw EnoughFound();
    }

    const Hits& hits() const { return hits_; }

  private:
    static constexpr std::size_t kCountEvery = 1 << 16;

    const Point& at(std::uint32_t vertex) const { return points_[vertex]; }

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
    const std::vector<Point>& points_;
    Candidates& candidates_;
    Progress* progress_;
    Hits hits_;
    std::size_t looked_ = 0;
};

// Slabs across the longest side, each looked through for itself: several at a time, with the same
// pairs found however many threads there are. A pair belongs to the slab where its common box
// begins.
constexpr int kSlabs = 16;
// Fewer boxes than this are scanned rather than parted further: measured on skins of 1 M triangles,
// it takes less than half of the time of the usual 10.
constexpr std::ptrdiff_t kScanBelow = 2000;

class Slabs {
  public:
    explicit Slabs(const TriangleMesh& mesh, Progress* progress) : mesh_(mesh) {
        Eigen::AlignedBox3d all;
        for (const Eigen::Vector3d& v : mesh.vertices)
            all.extend(v);
        all.sizes().maxCoeff(&axis_);
        // Equal shares of triangles: by their lower ends along the axis.
        std::vector<double> lows(mesh.triangles.size());
        for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
            poll(progress, t);
            lows[t] = range(t).first;
        }
        std::vector<double> sorted = lows;
        borders_.push_back(-std::numeric_limits<double>::infinity());
        for (int slab = 1; slab < kSlabs; ++slab) {
            const auto nth =
                sorted.begin() + static_cast<std::ptrdiff_t>(
                                     sorted.size() * static_cast<std::size_t>(slab) / kSlabs);
            std::nth_element(sorted.begin(), nth, sorted.end());
            borders_.push_back(std::max(*nth, borders_.back()));
        }
        borders_.push_back(std::numeric_limits<double>::infinity());
        members_.resize(kSlabs);
        for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t) {
            const double high = range(t).second;
            auto slab = std::upper_bound(borders_.begin() + 1, borders_.end() - 1, lows[t]) -
                        borders_.begin() - 1;
            for (; slab < kSlabs && (borders_[static_cast<std::size_t>(slab)] <= high); ++slab)
                members_[static_cast<std::size_t>(slab)].push_back(t);
        }
    }

    const std::vector<std::uint32_t>& members(int slab) const {
        return members_[static_cast<std::size_t>(slab)];
    }
    // Whether the pair is this slab's.
    bool owns(int slab, const TriangleBox& one, const TriangleBox& two) const {
        const double begin = std::max(one.min_coord(axis_), two.min_coord(axis_));
        return begin >= borders_[static_cast<std::size_t>(slab)] &&
               begin < borders_[static_cast<std::size_t>(slab) + 1];
    }

  private:
    std::pair<double, double> range(std::uint32_t t) const {
        const auto& [a, b, c] = mesh_.triangles[t];
        return std::minmax(
            {mesh_.vertices[a][axis_], mesh_.vertices[b][axis_], mesh_.vertices[c][axis_]});
    }

    const TriangleMesh& mesh_;
    int axis_ = 0;
    std::vector<double> borders_;
    std::vector<std::vector<std::uint32_t>> members_;
};

}  // namespace

Touching findTouching(const TriangleMesh& mesh, Progress* progress) {
    const Slabs slabs(mesh, progress);
    std::vector<Point> points;
    points.reserve(mesh.vertices.size());
    for (const Eigen::Vector3d& v : mesh.vertices)
        points.emplace_back(v.x(), v.y(), v.z());
    Candidates candidates;
    std::vector<Hits> found(kSlabs);
    std::vector<std::exception_ptr> faults(kSlabs);
    std::atomic<int> next{0};
    const auto work = [&] {
        for (int slab = next++; slab < kSlabs; slab = next++) {
            const auto at = static_cast<std::size_t>(slab);
            try {
                std::vector<TriangleBox> boxes;
                boxes.reserve(slabs.members(slab).size());
                for (const std::uint32_t t : slabs.members(slab)) {
                    poll(progress, t);
                    const auto& [a, b, c] = mesh.triangles[t];
                    const Eigen::Vector3d &p = mesh.vertices[a], &q = mesh.vertices[b],
                                          &r = mesh.vertices[c];
                    boxes.emplace_back(t, p.cwiseMin(q).cwiseMin(r), p.cwiseMax(q).cwiseMax(r));
                }
                Check check(mesh, points, candidates, progress);
                try {
                    CGAL::box_self_intersection_d(
                        boxes.begin(), boxes.end(),
                        [&](const TriangleBox& one, const TriangleBox& two) {
                            check.count();
                            if (slabs.owns(slab, one, two)) check.look(one, two);
                        },
                        kScanBelow);
                } catch (const EnoughFound&) {
                    // Hopelessly tangled; the first places say enough.
                }
                found[at] = check.hits();
            } catch (...) {
                faults[at] = std::current_exception();
            }
        }
    };
    std::vector<std::thread> helpers;
    const unsigned threads = std::min(8u, std::max(1u, std::thread::hardware_concurrency()));
    // A small surface is done before a thread has begun.
    constexpr std::size_t kWorthThreads = 20'000;
    for (unsigned i = 1; i < threads && mesh.triangles.size() > kWorthThreads; ++i)
        helpers.emplace_back(work);
    work();
    for (std::thread& helper : helpers)
        helper.join();
    for (const std::exception_ptr& fault : faults)
        if (fault) std::rethrow_exception(fault);

    Hits all;
    for (const Hits& hits : found)
        all.insert(all.end(), hits.begin(), hits.end());
    std::sort(all.begin(), all.end());
    Touching touching;
    touching.more = all.size() >= static_cast<std::size_t>(kMostPairs);
    touching.pairs = std::min(static_cast<long long>(all.size()), kMostPairs);
    for (const auto& [t, u] : all) {
        if (touching.places.size() >= 20) break;
        touching.places.push_back(commonPlace(mesh, t, u));
    }
    return touching;
}

}  // namespace macle::skin
