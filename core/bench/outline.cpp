#include "core/bench/outline.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <unordered_map>

namespace macle {

namespace {

constexpr double kFinestStep_mm = 0.005;
constexpr double kSimplify_mm = 0.004;
constexpr double kCoarsestShare = 1.0 / 256.0;
constexpr double kFinestShare = 1.0 / 4096.0;
constexpr double kThinSteps = 4.0;
// Grid lines are shifted by an odd fraction of a step so that none runs along an edge of a model
// built on round numbers.
constexpr double kShift = 0.381966;

struct Span {
    double from;
    double to;
};

// The covered spans along one grid line, merged now and then so that memory follows the shadow
// and not the number of triangles.
class Line {
  public:
    void cover(double from, double to) {
        spans_.push_back({from, to});
        if (spans_.size() >= limit_) {
            merge();
            limit_ = std::max<std::size_t>(64, 2 * spans_.size());
        }
    }
    void merge() {
        std::sort(spans_.begin(), spans_.end(),
                  [](const Span& a, const Span& b) { return a.from < b.from; });
        std::size_t kept = 0;
        for (const Span& span : spans_) {
            if (kept > 0 && span.from <= spans_[kept - 1].to)
                spans_[kept - 1].to = std::max(spans_[kept - 1].to, span.to);
            else
                spans_[kept++] = span;
        }
        spans_.resize(kept);
    }
    const std::vector<Span>& spans() const { return spans_; }
    std::optional<Span> spanAt(double where) const {
        auto next = std::upper_bound(spans_.begin(), spans_.end(), where,
                                     [](double w, const Span& s) { return w < s.from; });
        if (next == spans_.begin() || std::prev(next)->to < where) return std::nullopt;
        return *std::prev(next);
    }

  private:
    std::vector<Span> spans_;
    std::size_t limit_ = 64;
};

struct Grid {
    Eigen::Vector2d origin;  // of node (0, 0)
    double step;
    std::array<std::int64_t, 2> nodes;

    double at(int axis, std::int64_t index) const { return origin[axis] + step * double(index); }
};

// Where edge a-b crosses the line "coordinate `axis` = level"; computed from the lower end so that
// two triangles sharing the edge get the very same number and no gap opens between them.
double crossing(Eigen::Vector2d a, Eigen::Vector2d b, int axis, double level) {
    if (a[axis] > b[axis] || (a[axis] == b[axis] && a[1 - axis] > b[1 - axis])) std::swap(a, b);
    const double share = (level - a[axis]) / (b[axis] - a[axis]);
    return a[1 - axis] + share * (b[1 - axis] - a[1 - axis]);
}

// Lines of constant `axis` (1: rows, 0: columns).
std::vector<Line> coveredLines(const TriangleMesh& mesh, const std::vector<Eigen::Vector2d>& points,
                               const Grid& grid, int axis) {
    std::vector<Line> lines(std::size_t(grid.nodes[axis]));
    for (const auto& triangle : mesh.triangles) {
        const std::array<Eigen::Vector2d, 3> p = {points[triangle[0]], points[triangle[1]],
                                                  points[triangle[2]]};
        const double low = std::min({p[0][axis], p[1][axis], p[2][axis]});
        const double high = std::max({p[0][axis], p[1][axis], p[2][axis]});
        const auto first = std::max<std::int64_t>(
            0, std::int64_t(std::floor((low - grid.origin[axis]) / grid.step)));
        for (std::int64_t i = first; i < grid.nodes[axis]; ++i) {
            const double level = grid.at(axis, i);
            if (level < low) continue;
            if (level >= high) break;
            double from = 0.0, to = 0.0;
            int found = 0;
            for (std::size_t k = 0; k < 3; ++k) {
                const Eigen::Vector2d& a = p[k];
                const Eigen::Vector2d& b = p[(k + 1) % 3];
                if ((a[axis] <= level) == (b[axis] <= level)) continue;
                const double where = crossing(a, b, axis, level);
                from = found == 0 ? where : std::min(from, where);
                to = found == 0 ? where : std::max(to, where);
                ++found;
            }
            if (found == 2) lines[std::size_t(i)].cover(from, to);
        }
    }
    for (Line& line : lines)
        line.merge();
    return lines;
}

// The end of the covered span between a node inside and its neighbour outside.
double edgePoint(const Line& line, double low, double high, bool lowInside) {
    const auto span = line.spanAt(lowInside ? low : high);
    if (!span) return 0.5 * (low + high);
    return std::clamp(lowInside ? span->to : span->from, low, high);
}

double twiceArea(const OutlineLoop& loop) {
    double sum = 0.0;
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Eigen::Vector2d& a = loop[i];
        const Eigen::Vector2d& b = loop[(i + 1) % loop.size()];
        sum += a.x() * b.y() - a.y() * b.x();
    }
    return sum;
}

double distanceToSegment(const Eigen::Vector2d& p, const Eigen::Vector2d& a,
                         const Eigen::Vector2d& b) {
    const Eigen::Vector2d along = b - a;
    const double length2 = along.squaredNorm();
    if (length2 == 0.0) return (p - a).norm();
    const double t = std::clamp((p - a).dot(along) / length2, 0.0, 1.0);
    return (p - a - t * along).norm();
}

// Keeps the corners a polygon needs to stay within `tolerance` of itself (Douglas and Peucker,
// Cartographica 10 (1973) 112), with a work list instead of recursion.
OutlineLoop simplified(const OutlineLoop& loop, double tolerance) {
    if (loop.size() < 4) return loop;
    std::size_t far = 0;
    for (std::size_t i = 0; i < loop.size(); ++i)
        if ((loop[i] - loop[0]).squaredNorm() > (loop[far] - loop[0]).squaredNorm()) far = i;
    std::vector<char> keep(loop.size() + 1, 0);
    keep[0] = keep[far] = keep[loop.size()] = 1;
    std::vector<std::array<std::size_t, 2>> work = {{0, far}, {far, loop.size()}};
    while (!work.empty()) {
        const auto [from, to] = work.back();
        work.pop_back();
        double worst = tolerance;
        std::size_t at = from;
        for (std::size_t i = from + 1; i < to; ++i) {
            const double d = distanceToSegment(loop[i], loop[from], loop[to % loop.size()]);
            if (d > worst) {
                worst = d;
                at = i;
            }
        }
        if (at == from) continue;
        keep[at] = 1;
        work.push_back({from, at});
        work.push_back({at, to});
    }
    OutlineLoop result;
    for (std::size_t i = 0; i < loop.size(); ++i)
        if (keep[i]) result.push_back(loop[i]);
    return result;
}

std::vector<OutlineLoop> trace(const Grid& grid, const std::vector<Line>& rows,
                               const std::vector<Line>& columns) {
    const auto nx = grid.nodes[0], ny = grid.nodes[1];
    std::vector<char> inside(std::size_t(nx * ny), 0);
    for (std::int64_t j = 0; j < ny; ++j)
        for (const Span& span : rows[std::size_t(j)].spans()) {
            auto i = std::max<std::int64_t>(
                0, std::int64_t(std::floor((span.from - grid.origin.x()) / grid.step)));
            for (; i < nx && grid.at(0, i) <= span.to; ++i)
                if (grid.at(0, i) >= span.from) inside[std::size_t(j * nx + i)] = 1;
        }

    // Edge ids: twice the node id of the lower end, odd for the edge going up.
    std::unordered_map<std::int64_t, std::int64_t> next;
    std::vector<std::int64_t> starts;
    for (std::int64_t j = 0; j + 1 < ny; ++j)
        for (std::int64_t i = 0; i + 1 < nx; ++i) {
            const std::int64_t n = j * nx + i;
            const std::array<bool, 4> in = {
                inside[std::size_t(n)] != 0, inside[std::size_t(n + 1)] != 0,
                inside[std::size_t(n + nx + 1)] != 0, inside[std::size_t(n + nx)] != 0};
            if (in[0] == in[1] && in[1] == in[2] && in[2] == in[3]) continue;
            const std::array<std::int64_t, 4> edge = {2 * n, 2 * (n + 1) + 1, 2 * (n + nx),
                                                      2 * n + 1};
            for (std::size_t k = 0; k < 4; ++k) {
                if (!in[k] || in[(k + 1) % 4])
                    continue;  // the contour enters where in turns to out
                std::size_t back = (k + 3) % 4;
                while (in[back])
                    back = (back + 3) % 4;  // edge `back` runs from out to in
                next[edge[k]] = edge[back];
                starts.push_back(edge[k]);
            }
        }

    const auto pointOn = [&](std::int64_t edge) -> Eigen::Vector2d {
        const std::int64_t n = edge / 2, i = n % nx, j = n / nx;
        const bool low = inside[std::size_t(n)] != 0;
        if (edge % 2 == 0)
            return {edgePoint(rows[std::size_t(j)], grid.at(0, i), grid.at(0, i + 1), low),
                    grid.at(1, j)};
        return {grid.at(0, i),
                edgePoint(columns[std::size_t(i)], grid.at(1, j), grid.at(1, j + 1), low)};
    };

    std::vector<OutlineLoop> loops;
    for (const std::int64_t start : starts) {
        OutlineLoop loop;
        std::int64_t at = start;
        for (auto found = next.find(at); found != next.end(); found = next.find(at)) {
            loop.push_back(pointOn(at));
            at = found->second;
            next.erase(found);
        }
        if (loop.size() >= 3) loops.push_back(std::move(loop));
    }
    return loops;
}

// Andrew's monotone chain, counter-clockwise.
OutlineLoop convexHull(const std::vector<Eigen::Vector2d>& points, const TriangleMesh& mesh) {
    OutlineLoop sorted;
    for (const auto& triangle : mesh.triangles)
        for (const std::uint32_t corner : triangle)
            sorted.push_back(points[corner]);
    std::sort(sorted.begin(), sorted.end(), [](const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
        return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y();
    });
    sorted.erase(std::unique(sorted.begin(), sorted.end()), sorted.end());
    if (sorted.size() < 3) return sorted;
    OutlineLoop hull;
    for (int pass = 0; pass < 2; ++pass) {
        const std::size_t floor = hull.size() + 1;
        for (const Eigen::Vector2d& p : sorted) {
            while (hull.size() > floor) {
                const Eigen::Vector2d a = hull.back() - hull[hull.size() - 2], b = p - hull.back();
                if (a.x() * b.y() - a.y() * b.x() > 0.0) break;
                hull.pop_back();
            }
            hull.push_back(p);
        }
        hull.pop_back();  // the first point of the next pass
        std::reverse(sorted.begin(), sorted.end());
    }
    return hull;
}

// Least width of a convex polygon.
double thickness(const OutlineLoop& hull) {
    if (hull.size() < 3) return 0.0;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const Eigen::Vector2d& a = hull[i];
        const Eigen::Vector2d along = (hull[(i + 1) % hull.size()] - a).normalized();
        double widest = 0.0;
        for (const Eigen::Vector2d& p : hull)
            widest = std::max(widest, along.x() * (p - a).y() - along.y() * (p - a).x());
        least = std::min(least, widest);
    }
    return least;
}

}  // namespace

std::vector<OutlineLoop> outlineOf(const TriangleMesh& mesh, const ViewAxes& view) {
    if (mesh.empty()) return {};
    std::vector<Eigen::Vector2d> points;
    points.reserve(mesh.vertices.size());
    for (const Eigen::Vector3d& v : mesh.vertices)
        points.push_back(view.project(v));
    Eigen::Vector2d low = points[mesh.triangles[0][0]], high = low;
    for (const auto& triangle : mesh.triangles)
        for (const std::uint32_t corner : triangle) {
            low = low.cwiseMin(points[corner]);
            high = high.cwiseMax(points[corner]);
        }
    const double extent = (high - low).maxCoeff();
    if (!(extent > 0.0) || !std::isfinite(extent)) return {};

    const double step =
        std::max(std::min(kFinestStep_mm, extent * kCoarsestShare), extent * kFinestShare);
    // Thinner than a few cells, such as a crack seen edge-on: the grid would break it up.
    OutlineLoop hull = convexHull(points, mesh);
    if (thickness(hull) < kThinSteps * step) return {std::move(hull)};

    Grid grid;
    grid.step = step;
    grid.origin = low - Eigen::Vector2d::Constant((1.0 + kShift) * grid.step);
    for (int axis = 0; axis < 2; ++axis)
        grid.nodes[std::size_t(axis)] =
            std::int64_t(std::ceil((high[axis] - low[axis]) / grid.step)) + 4;

    const std::vector<Line> rows = coveredLines(mesh, points, grid, 1);
    const std::vector<Line> columns = coveredLines(mesh, points, grid, 0);
    std::vector<OutlineLoop> loops = trace(grid, rows, columns);
    const double tolerance = std::min(kSimplify_mm, extent * kCoarsestShare);
    for (OutlineLoop& loop : loops)
        loop = simplified(loop, tolerance);
    std::stable_sort(loops.begin(), loops.end(), [](const OutlineLoop& a, const OutlineLoop& b) {
        return std::abs(twiceArea(a)) > std::abs(twiceArea(b));
    });
    return loops;
}

}  // namespace macle
