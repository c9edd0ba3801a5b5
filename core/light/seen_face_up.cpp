#include "core/light/seen_face_up.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/parallel.h"
#include "core/base/part_progress.h"
#include "core/light/ray_stream.h"

namespace macle {
namespace {

constexpr int kWidestCells = 256;  // along the stone
constexpr int kCellsAcross = 24;   // a body's longest extent
constexpr int kSplit = 4;          // a cell is split into 4 x 4
constexpr int kDeepest = 8;        // times
constexpr int kLeastCells = 4;     // of an image that counts
constexpr int kRowsPerPiece = 8;
// A ray of a cell strays from the cell's middle ray by at most half its diagonal times the widening
// at the crown's steepest facets (1.3); more only where an edge between facets parts them.
constexpr double kStray = 1.5;

struct Cell {
    std::int32_t x = 0, y = 0;
    bool underTable = false;
    bool straight = false;
};

// The face cut into cells, finer at each level.
struct FaceCells {
    Eigen::Vector2d corner;
    double pitch_mm = 0.0;  // of the widest cells
    double start_z = 0.0;

    double pitch(int level) const { return pitch_mm / std::pow(kSplit, level); }
    light::OutsideRay ray(const Cell& cell, int level) const {
        light::OutsideRay ray;
        const double h = pitch(level);
        ray.origin = {corner.x() + (cell.x + 0.5) * h, corner.y() + (cell.y + 0.5) * h, start_z};
        ray.direction = {0.0, 0.0, -1.0};
        return ray;
    }
};

// Which cells' rays come near a body, or meet it where the cells are as small as they get.
struct Watch {
    const BodyInside* body;
    double stray_mm;  // near: within this of the ball that holds it; 0: it must be touched
    std::vector<Cell>* found;
};

struct WatchSink {
    const std::vector<Watch>& watches;
    const std::vector<Cell>& cells;  // ids are indices into it

    static constexpr bool wants() { return true; }
    bool stretch(std::uint32_t id, const light::Stretch& s) {
        for (std::size_t w = 0; w < watches.size(); ++w) {
            const Watch& watch = watches[w];
            const bool met = watch.stray_mm > 0.0
                                 ? watch.body->centreDistance_mm(s.origin, s.direction, s.length) <=
                                       watch.body->radius_mm() + watch.stray_mm
                                 : watch.body->touches(s.origin, s.direction, s.length);
            if (!met) continue;
            Cell cell = cells[id];
            cell.straight = s.hits == 0;
            watch.found->push_back(cell);
        }
        return true;
    }
    void leaves(std::uint32_t, const Eigen::Vector3d&, const Eigen::Vector3d&, double, double, int,
                int, int) {}
    void loses(std::uint32_t, light::Loss, double) {}
};

// Rays of one batch run side by side, so that a cell's meetings come apart: the straight one is
// kept, each cell once, row by row.
void keepOnce(std::vector<Cell>& cells) {
    std::sort(cells.begin(), cells.end(), [](const Cell& a, const Cell& b) {
        return std::tuple(a.y, a.x, !a.straight) < std::tuple(b.y, b.x, !b.straight);
    });
    cells.erase(std::unique(cells.begin(), cells.end(),
                            [](const Cell& a, const Cell& b) { return a.x == b.x && a.y == b.y; }),
                cells.end());
}

// With the eight neighbours of each: a neighbour's middle ray may take another way while part of
// the cell still shows the body.
void addNeighbours(std::vector<Cell>& cells) {
    const std::size_t count = cells.size();
    for (std::size_t i = 0; i < count; ++i)
        for (int dy = -1; dy <= 1; ++dy)
            for (int dx = -1; dx <= 1; ++dx)
                if (dx != 0 || dy != 0) cells.push_back({cells[i].x + dx, cells[i].y + dy});
    keepOnce(cells);
}

class Watcher {
  public:
    Watcher(const LightBody& body, const SeenOptions& options) : body_(body) {
        const Box& box = body.bounds();
        face_.corner = box.low.head<2>();
        face_.pitch_mm = box.extent().head<2>().maxCoeff() / kWidestCells;
        face_.start_z = box.high.z() + body.size_mm();
        trace_.wavelength_nm = options.wavelength_nm;
        trace_.leastPower = options.leastShare;
    }

    const FaceCells& face() const { return face_; }

    // Traces the cells; returns how many of them lie on the face.
    std::size_t watch(std::vector<Cell> cells, int level, const std::vector<Watch>& watches) const {
        WatchSink sink{watches, cells};
        light::RayStream<WatchSink> stream(body_, trace_, sink);
        std::size_t met = 0;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            light::OutsideRay ray = face_.ray(cells[i], level);
            const auto meeting = body_.firstMeeting(ray.origin, ray.direction);
            if (meeting.part < 0) continue;
            ++met;
            cells[i].underTable = body_.facet(meeting.part, meeting.facet).kind == FacetKind::Table;
            ray.id = static_cast<std::uint32_t>(i);
            stream.start(ray, meeting);
        }
        stream.finish();
        return met;
    }

    // The level at which cells are small enough for a body.
    int deepest(const BodyInside& inside) const {
        int level = 0;
        while (level < kDeepest && face_.pitch(level) > 2.0 * inside.radius_mm() / kCellsAcross)
            ++level;
        return level;
    }

  private:
    const LightBody& body_;
    FaceCells face_;
    TraceOptions trace_;
};

// Connected regions, corners too; `cells` in order of rows.
std::vector<std::vector<std::size_t>> regions(const std::vector<Cell>& cells) {
    std::map<std::pair<std::int32_t, std::int32_t>, std::size_t> at;
    for (std::size_t i = 0; i < cells.size(); ++i)
        at[{cells[i].y, cells[i].x}] = i;
    std::vector<bool> taken(cells.size(), false);
    std::vector<std::vector<std::size_t>> found;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (taken[i]) continue;
        std::vector<std::size_t> region{i};
        taken[i] = true;
        for (std::size_t k = 0; k < region.size(); ++k)
            for (int dy = -1; dy <= 1; ++dy)
                for (int dx = -1; dx <= 1; ++dx) {
                    const Cell& cell = cells[region[k]];
                    const auto next = at.find({cell.y + dy, cell.x + dx});
                    if (next == at.end() || taken[next->second]) continue;
                    taken[next->second] = true;
                    region.push_back(next->second);
                }
        found.push_back(std::move(region));
    }
    return found;
}

SeenBody sum(const std::vector<Cell>& cells, double pitch_mm, double leastImage_mm) {
    SeenBody seen;
    const double cell_mm2 = pitch_mm * pitch_mm;
    for (const Cell& cell : cells) {
        seen.area_mm2 += cell_mm2;
        if (cell.straight) seen.straightArea_mm2 += cell_mm2;
        if (cell.underTable) seen.areaUnderTable_mm2 += cell_mm2;
    }
    const double least_mm2 = 0.25 * M_PI * leastImage_mm * leastImage_mm;
    for (const auto& region : regions(cells)) {
        if (region.size() < kLeastCells) continue;
        if (static_cast<double>(region.size()) * cell_mm2 < least_mm2) continue;
        ++seen.images;
        const auto under = std::count_if(region.begin(), region.end(),
                                         [&](std::size_t i) { return cells[i].underTable; });
        if (2 * static_cast<std::size_t>(under) >= region.size()) ++seen.imagesUnderTable;
    }
    return seen;
}

constexpr std::size_t kCellsAtOnce = 2000;  // between two looks at cancel: some 10 ms

}  // namespace

std::vector<SeenBody> seenFaceUp(const LightBody& body, const std::vector<BodyInside>& bodies,
                                 const SeenOptions& options, Progress* progress) {
    if (!(options.leastShare > 0.0 && options.leastShare <= 1.0))
        throw Error(ErrorCode::BadUsage,
                    "The least share of light is " + formatExact(options.leastShare) + ".",
                    "Give a share above 0, at most 1.");
    if (!(options.leastImage_mm >= 0.0) || !std::isfinite(options.leastImage_mm))
        throw Error(ErrorCode::BadUsage,
                    "The least image is " + formatExact(options.leastImage_mm) + " mm.",
                    "Give 0 mm or more.");
    const Watcher watcher(body, options);

    // The whole face in wide cells.
    const int pieces = kWidestCells / kRowsPerPiece;
    std::vector<std::vector<std::vector<Cell>>> found(static_cast<std::size_t>(pieces));
    std::vector<std::size_t> onFace(static_cast<std::size_t>(pieces));
    PartProgress wide(progress, 0.0, 0.5);
    forEachPiece(pieces, options.threads, &wide, [&](int piece) {
        const auto p = static_cast<std::size_t>(piece);
        found[p].resize(bodies.size());
        std::vector<Watch> watches;
        for (std::size_t b = 0; b < bodies.size(); ++b)
            watches.push_back(
                {&bodies[b],
                 watcher.deepest(bodies[b]) == 0 ? 0.0 : kStray * watcher.face().pitch_mm,
                 &found[p][b]});
        std::vector<Cell> cells;
        for (int y = piece * kRowsPerPiece; y < (piece + 1) * kRowsPerPiece; ++y)
            for (int x = 0; x < kWidestCells; ++x)
                cells.push_back({x, y});
        onFace[p] = watcher.watch(std::move(cells), 0, watches);
    });
    const double pitch_mm = watcher.face().pitch_mm;
    const double face_mm2 =
        static_cast<double>(std::accumulate(onFace.begin(), onFace.end(), std::size_t{0})) *
        pitch_mm * pitch_mm;

    // Each body by itself in ever smaller cells.
    std::vector<SeenBody> seen(bodies.size());
    PartProgress fine(progress, 0.5, 1.0);
    forEachPiece(static_cast<int>(bodies.size()), options.threads, &fine, [&](int piece) {
        const auto b = static_cast<std::size_t>(piece);
        std::vector<Cell> cells;
        for (const auto& part : found)
            cells.insert(cells.end(), part[b].begin(), part[b].end());
        keepOnce(cells);
        const int deepest = watcher.deepest(bodies[b]);
        for (int level = 1; level <= deepest; ++level) {
            addNeighbours(cells);
            std::vector<Cell> children;
            for (const Cell& cell : cells)
                for (int y = 0; y < kSplit; ++y)
                    for (int x = 0; x < kSplit; ++x)
                        children.push_back({cell.x * kSplit + x, cell.y * kSplit + y});
            cells.clear();
            const double stray = level == deepest ? 0.0 : kStray * watcher.face().pitch(level);
            for (std::size_t from = 0; from < children.size(); from += kCellsAtOnce) {
                fine.throwIfCancelled();
                const auto begin = children.begin() + static_cast<std::ptrdiff_t>(from);
                const std::size_t count = std::min(kCellsAtOnce, children.size() - from);
                watcher.watch({begin, begin + static_cast<std::ptrdiff_t>(count)}, level,
                              {{&bodies[b], stray, &cells}});
            }
            keepOnce(cells);
        }
        seen[b] = sum(cells, watcher.face().pitch(deepest), options.leastImage_mm);
        seen[b].shareOfFace = face_mm2 > 0.0 ? seen[b].area_mm2 / face_mm2 : 0.0;
    });
    return seen;
}

std::vector<SeenBody> seenFaceUp(const Design& design, double size_mm, const Material& material,
                                 const std::vector<BodyInside>& bodies, const SeenOptions& options,
                                 Progress* progress) {
    return seenFaceUp(LightBody(design, size_mm, material), bodies, options, progress);
}

}  // namespace macle
