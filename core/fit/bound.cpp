#include "core/fit/bound.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <exception>
#include <map>
#include <queue>
#include <thread>
#include <tuple>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/fit/bound_visit.h"
#include "core/fit/obstacles.h"

namespace macle {

namespace {

using Eigen::Vector3d;

constexpr std::size_t kMostPlanes = 500;
// Cells taken at a time, whatever the number of threads, so that the order of work is fixed.
constexpr std::size_t kBatch = 48;
constexpr std::size_t kMostWaiting = 600000;  // about 2 GB of cells
// Placements smaller than this share of the rough are of no use to anyone.
constexpr double kLeastSize = 1e-3;
// Added to the bound at the end: scaling back and forth, and the rounding inside scaled rows.
constexpr double kFinalMargin = 1e-9;

struct Waiting {
    double bound;
    long long order;
    BoundCell cell;
};
struct Later {
    bool operator()(const Waiting& a, const Waiting& b) const {
        return std::tie(a.bound, b.order) < std::tie(b.bound, a.order);
    }
};

double weightGap_percent(double bound, double incumbent) {
    const double ratio = bound / incumbent;
    return 100.0 * (ratio * ratio * ratio - 1.0);
}

void checkOptions(const BoundOptions& options) {
    if (!(options.targetGap_percent >= 0.0) || !std::isfinite(options.targetGap_percent))
        throw Error(ErrorCode::BadUsage, "The target gap must be zero or more percent of weight.",
                    "Give a number such as 1.");
    if (!(options.incumbent_mm >= 0.0) || !std::isfinite(options.incumbent_mm))
        throw Error(ErrorCode::BadUsage, "The size of the best placement known is not a length.",
                    "Give it in mm, or 0 when there is none.");
    if (std::isnan(options.seconds) || options.cells < 0)
        throw Error(ErrorCode::BadUsage, "The limits of time and cells are not numbers.",
                    "Give seconds, or a number of cells, or 0 for no limit.");
    if (options.seconds <= 0.0 && options.cells == 0 && options.targetGap_percent == 0.0)
        throw Error(ErrorCode::BadUsage, "The proof would never end.",
                    "Give a limit of time or cells, or a target gap above zero.");
}

std::vector<Vector3d> skinVertices(const ObstacleTree& tree, const BoundScale& scale) {
    std::vector<std::array<double, 3>> corners;
    for (const TreeTriangle& triangle : tree.triangles()) {
        if (triangle.source != 0) continue;
        for (int i = 0; i < 3; ++i)
            corners.push_back(
                {triangle.corner[3 * i], triangle.corner[3 * i + 1], triangle.corner[3 * i + 2]});
    }
    std::sort(corners.begin(), corners.end());
    corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
    std::vector<Vector3d> points;
    points.reserve(corners.size());
    for (const auto& c : corners)
        points.push_back(scale.toScaled(Vector3d(c[0], c[1], c[2])));
    return points;
}

std::string certificateText(const BoundModel& model, const Gauge& gauge,
                            const DesignSymmetry& symmetry, const Bound& bound) {
    std::string text =
        "No placement of this cut with fixed proportions in the rough is larger than " +
        formatFixed(std::ceil(bound.size_mm * 1e6) * 1e-6, 6) +
        " mm. Taken as given: the skin and " +
        "the surfaces of the defects that must be cut away, as meshes; the cut's facet planes; " +
        "an allowance of " + formatFixed(gauge.rules().allowance_mm, 4) + " mm on every facet" +
        (gauge.obstacles().tree().largestMargin_mm() > 0.0 ? ", and the margins of the defects"
                                                           : "") +
        "; the middle of the cut inside the rough. ";
    if (gauge.obstacles().tree().innerRoot() != 0)
        text +=
            "Defects that may stay under the crown edge are left out, which can only raise the "
            "bound. ";
    text += "Proof: branch and bound over all rotations (turns of 1/" +
            std::to_string(symmetry.order) + " about the axis" +
            (symmetry.flips ? " and half turns" : "") + " repeat the cut) and centres, " +
            std::to_string(bound.cells) + " cells, " + std::to_string(model.planes.size()) +
            " supporting planes of the skin's hull. Rounding: every row of every linear programme "
            "is loosened by more than its rounding, values are taken from dual multipliers over "
            "the cell's box, and the result is raised by one part in a thousand million.";
    return text;
}

// Visits the cells on all threads; the results stand in the order of the cells.
std::vector<VisitResult> visitAll(std::vector<CellVisitor>& visitors,
                                  const std::vector<BoundCell>& cells, double sizeLow) {
    std::vector<VisitResult> results(cells.size());
    std::vector<std::exception_ptr> failures(visitors.size());
    std::atomic<std::size_t> next{0};
    auto work = [&](std::size_t worker) {
        try {
            for (std::size_t i = next++; i < cells.size(); i = next++)
                results[i] = visitors[worker].visit(cells[i], sizeLow);
        } catch (...) {
            failures[worker] = std::current_exception();
        }
    };
    std::vector<std::thread> threads;
    for (std::size_t worker = 1; worker < visitors.size(); ++worker)
        threads.emplace_back(work, worker);
    work(0);
    for (std::thread& thread : threads)
        thread.join();
    for (const std::exception_ptr& failure : failures)
        if (failure) std::rethrow_exception(failure);
    return results;
}

}  // namespace

Bound proveBound(const Gauge& gauge, const BoundOptions& options, Progress* progress) {
    checkOptions(options);
    const auto began = std::chrono::steady_clock::now();
    auto elapsed = [&] {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    };
    const ObstacleTree& tree = gauge.obstacles().tree();
    BoundScale scale;
    scale.origin_mm = tree.skinBox().centre();
    scale.unit_mm = 0.5 * tree.skinBox().extent().norm();
    if (!(scale.unit_mm > 0.0))
        throw Error(ErrorCode::BadInput, "The skin of the stone has no extent.",
                    "Import the scan of the rough again.");
    BoundModel model;
    model.allowance = gauge.rules().allowance_mm / scale.unit_mm;
    double leastDistance = 1e300;
    for (const ConvexPart& part : gauge.design().parts) {
        model.parts.emplace_back(part);
        for (const Vector3d& v : model.parts.back().vertices())
            model.reach = std::max(model.reach, v.norm());
        for (const Facet& facet : part.facets)
            leastDistance = std::min(leastDistance, facet.distance);
    }
    model.planes = supportPlanes(skinVertices(tree, scale), kMostPlanes);
    const DesignSymmetry symmetry = findSymmetry(gauge.design());

    Bound bound;
    bound.incumbent_mm = options.incumbent_mm;
    double incumbent = options.incumbent_mm / scale.unit_mm;
    std::priority_queue<Waiting, std::vector<Waiting>, Later> queue;
    long long order = 0;
    const Vector3d half = tree.skinBox().extent() / (2.0 * scale.unit_mm);
    // Some part holds a ball about its origin, and the rough's box holds the design.
    const double largest = 1.001 / leastDistance;
    for (const RotationCell& rotation : coverRotations(symmetry)) {
        BoundCell cell;
        cell.rotation = rotation;
        cell.centreLow = -half.array() * (1.0 + 1e-12);
        cell.centreHigh = half.array() * (1.0 + 1e-12);
        cell.bound = largest;
        queue.push({cell.bound, order++, std::move(cell)});
    }
    unsigned threads = options.threads > 0 ? static_cast<unsigned>(options.threads)
                                           : std::max(1U, std::thread::hardware_concurrency());
    threads = std::min<unsigned>(threads, kBatch);
    // Defects that may stay under the crown edge are left out: that can only raise the bound. What
    // is found on the way counts only as large as they let it be.
    std::vector<PreparedPart> parts = gauge.prepared();
    std::erase_if(parts, [](const PreparedPart& part) { return part.inner; });
    std::vector<CellVisitor> visitors;
    for (unsigned i = 0; i < threads; ++i)
        visitors.emplace_back(model, scale, tree, parts);

    const double factor = std::cbrt(1.0 + options.targetGap_percent / 100.0);
    double settled = 0.0;  // largest bound of cells that are not divided further
    while (!queue.empty()) {
        const double floor = std::max(incumbent, kLeastSize);
        if (std::max(queue.top().bound, settled) <= floor * factor) break;
        if (queue.top().bound <= settled) break;
        if (options.cells > 0 && bound.cells >= options.cells) break;
        if (options.seconds > 0.0 && elapsed() > options.seconds) break;
        if (progress && progress->cancelled()) break;
        if (queue.size() > kMostWaiting) break;
        std::vector<BoundCell> cells;
        while (!queue.empty() && cells.size() < kBatch) {
            cells.push_back(queue.top().cell);
            queue.pop();
        }
        bound.cells += static_cast<long long>(cells.size());
        for (VisitResult& result : visitAll(visitors, cells, floor)) {
            if (result.found && tree.innerRoot() != 0)
                result.found->size_mm = std::min(
                    result.found->size_mm,
                    gauge.largest(result.found->rotation, result.found->translation_mm).size_mm);
            if (result.found && result.found->size_mm > incumbent * scale.unit_mm) {
                incumbent = result.found->size_mm / scale.unit_mm;
                bound.better = result.found;
            }
            if (result.children.empty()) {
                settled = std::max(settled, result.bound);
                continue;
            }
            for (BoundCell& child : result.children)
                if (child.bound > floor) queue.push({child.bound, order++, std::move(child)});
        }
        if (progress && options.seconds > 0.0)
            progress->advanceTo(elapsed() / options.seconds);
        else if (progress && options.cells > 0)
            progress->advanceTo(static_cast<double>(bound.cells) /
                                static_cast<double>(options.cells));
    }
    double top = std::max({settled, incumbent, kLeastSize});
    if (!queue.empty()) top = std::max(top, queue.top().bound);
    bound.complete = top <= std::max(incumbent, kLeastSize) * factor;
    if (incumbent < kLeastSize && bound.complete)
        throw Error(ErrorCode::NoSolution,
                    "The cut does not fit into this rough at any size of use.",
                    "Reduce the allowance, or let some defects stay.");
    top *= 1.0 + kFinalMargin + symmetry.error * (1.0 + 2.0 / leastDistance / top);
    bound.size_mm = top * scale.unit_mm;
    bound.incumbent_mm = incumbent * scale.unit_mm;
    bound.gap_percent = incumbent > 0.0 ? weightGap_percent(bound.size_mm, bound.incumbent_mm)
                                        : std::numeric_limits<double>::infinity();
    bound.seconds = elapsed();
    bound.certificate = certificateText(model, gauge, symmetry, bound);
    if (progress) progress->advanceTo(1.0);
    return bound;
}

}  // namespace macle
