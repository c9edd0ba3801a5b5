#include "core/light/ray_batch.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/tolerance.h"
#include "core/base/vector_width.h"

namespace macle::light {
namespace {

typedef double Doubles __attribute__((vector_size(32)));
typedef long long Longs __attribute__((vector_size(32)));

}  // namespace

void RayBatch::move(int from, int to) {
    if (from == to) return;
    for (double* field : {ox, oy, oz, dx, dy, dz, i, q, u, v, rx, ry, rz, path})
        field[to] = field[from];
    part[to] = part[from];
    face[to] = face[from];
    hits[to] = hits[from];
    id[to] = id[from];
}

#define MACLE_LOAD(array) (*reinterpret_cast<const Doubles*>(array))

// Each lane of `time` and `where` against the lane named; the lower face among equals.
#define MACLE_NEARER_OF_LANES(a, b, c, d)                                                       \
    {                                                                                           \
        const Doubles otherTime = __builtin_shufflevector(time, time, a, b, c, d);              \
        const Longs otherWhere = __builtin_shufflevector(where, where, a, b, c, d);             \
        const Longs nearer = (otherTime < time) | ((otherTime == time) & (otherWhere < where)); \
        time = nearer ? otherTime : time;                                                       \
        where = nearer ? otherWhere : where;                                                    \
    }

MACLE_MANY_WIDTHS
void meetFaces(const FacetTable* const* tables, RayBatch& rays) {
    // As directionCell, for all rays at once.
    std::int32_t cells[RayBatch::kCapacity];
    constexpr double kHalf = 0.5 * FacetTable::kFields;
    const int whole = (rays.count + 7) / 8 * 8;
    for (int ray = 0; ray < whole; ++ray) {
        const double x = rays.dx[ray], y = rays.dy[ray], z = rays.dz[ray];
        const double ax = std::abs(x), ay = std::abs(y), az = std::abs(z);
        const bool first = ax >= ay && ax >= az, second = !first && ay >= az;
        const double major = first ? x : second ? y : z;
        const double u = first ? y : second ? z : x, v = first ? z : second ? x : y;
        const double scale = kHalf / std::abs(major);
        const double row = std::min(std::max(u * scale + kHalf, 0.0), 2.0 * kHalf - 1.0);
        const double column = std::min(std::max(v * scale + kHalf, 0.0), 2.0 * kHalf - 1.0);
        const std::int32_t side = (first ? 0 : second ? 2 : 4) + (major > 0.0 ? 0 : 1);
        cells[ray] =
            (side * FacetTable::kFields + static_cast<std::int32_t>(row)) * FacetTable::kFields +
            static_cast<std::int32_t>(column);
    }
    const Longs lanes = {0, 1, 2, 3};
    for (int ray = 0; ray < rays.count; ++ray) {
        const double ox = rays.ox[ray], oy = rays.oy[ray], oz = rays.oz[ray];
        const double dx = rays.dx[ray], dy = rays.dy[ray], dz = rays.dz[ray];
        const FacetTable& table = *tables[rays.part[ray]];
        const FaceBlock* blocks = table.blocks().data();
        BlockMask mask =
            table.reachTable()[static_cast<std::size_t>(rays.face[ray]) * FacetTable::kCells +
                               static_cast<std::size_t>(cells[ray])];
        // The nearest so far is room / speed: compared without a division. It begins at infinity.
        Doubles bestRoom = Doubles{} + 1.0, bestSpeed = {};
        Longs where = lanes;
        for (; mask != 0; mask &= mask - 1) {
            const int at = __builtin_ctzll(mask);
            const FaceBlock& block = blocks[at];
            const Doubles nx = MACLE_LOAD(block.nx), ny = MACLE_LOAD(block.ny),
                          nz = MACLE_LOAD(block.nz);
            const Doubles speed = nx * dx + ny * dy + nz * dz;
            const Doubles room = MACLE_LOAD(block.d) - (nx * ox + ny * oy + nz * oz);
            const Longs nearer = (speed > 0.0) & (room * bestSpeed < bestRoom * speed);
            bestRoom = nearer ? room : bestRoom;
            bestSpeed = nearer ? speed : bestSpeed;
            where = nearer ? lanes + at * FaceBlock::kLanes : where;
        }
        Doubles time = bestRoom / bestSpeed;
        MACLE_NEARER_OF_LANES(2, 3, 0, 1)
        MACLE_NEARER_OF_LANES(1, 0, 3, 2)
        const auto face = static_cast<int>(where[0]);
        rays.t[ray] = time[0] > 0.0 ? time[0] : 0.0;  // a start on an edge may lie just outside
        rays.face[ray] = face;
    }
    for (int ray = 0; ray < rays.count; ++ray) {
        const FaceBlock& block =
            tables[rays.part[ray]]
                ->blocks()[static_cast<std::size_t>(rays.face[ray] / FaceBlock::kLanes)];
        const int lane = rays.face[ray] % FaceBlock::kLanes;
        rays.nx[ray] = block.nx[lane];
        rays.ny[ray] = block.ny[lane];
        rays.nz[ray] = block.nz[lane];
    }
}

// The vector loop over the blocks; nearest in `far`, furthest in `near`, with their faces.
MACLE_MANY_WIDTHS
static bool clipLine(const FaceBlock* blocks, int count, const double* o, const double* d,
                     double ends[2], int faces[2]) {
    const double ox = o[0], oy = o[1], oz = o[2], dx = d[0], dy = d[1], dz = d[2];
    const double infinite = std::numeric_limits<double>::infinity();
    Doubles enters = Doubles{} - infinite, leaves = Doubles{} + infinite;
    Longs entry = Longs{} - 1, exit = Longs{} - 1, outside = {};
    for (int at = 0; at < count; ++at) {
        const FaceBlock& block = blocks[at];
        const Doubles nx = MACLE_LOAD(block.nx), ny = MACLE_LOAD(block.ny),
                      nz = MACLE_LOAD(block.nz);
        const Doubles speed = nx * dx + ny * dy + nz * dz;
        const Doubles room = MACLE_LOAD(block.d) - (nx * ox + ny * oy + nz * oz);
        const Doubles time = room / speed;
        const Longs later = (speed < 0.0) & (time > enters);
        const Longs sooner = (speed > 0.0) & (time < leaves);
        enters = later ? time : enters;
        entry = later ? Longs{} + at : entry;
        leaves = sooner ? time : leaves;
        exit = sooner ? Longs{} + at : exit;
        outside |= (speed == 0.0) & (room < -tolerance::kOnPlane_mm);
    }
    ends[0] = -infinite;
    ends[1] = infinite;
    faces[0] = faces[1] = -1;
    for (int lane = 0; lane < FaceBlock::kLanes; ++lane) {
        if (outside[lane]) return false;
        if (enters[lane] > ends[0]) {
            ends[0] = enters[lane];
            faces[0] = static_cast<int>(entry[lane]) * FaceBlock::kLanes + lane;
        }
        if (leaves[lane] < ends[1]) {
            ends[1] = leaves[lane];
            faces[1] = static_cast<int>(exit[lane]) * FaceBlock::kLanes + lane;
        }
    }
    return ends[0] < ends[1];
}

MACLE_MANY_WIDTHS
static bool allHold(const FaceBlock* blocks, int count, const double* o, double depth) {
    const double ox = o[0], oy = o[1], oz = o[2];
    for (int at = 0; at < count; ++at) {
        const FaceBlock& block = blocks[at];
        const Doubles room =
            MACLE_LOAD(block.d) -
            (MACLE_LOAD(block.nx) * ox + MACLE_LOAD(block.ny) * oy + MACLE_LOAD(block.nz) * oz);
        const Longs shallow = room <= depth;
        if (shallow[0] | shallow[1] | shallow[2] | shallow[3]) return false;
    }
    return true;
}

MACLE_MANY_WIDTHS
static bool anyKeepsOut(const FaceBlock* blocks, int count, const double* o, const double* d,
                        double slack) {
    const double ox = o[0], oy = o[1], oz = o[2], dx = d[0], dy = d[1], dz = d[2];
    for (int at = 0; at < count; ++at) {
        const FaceBlock& block = blocks[at];
        const Doubles nx = MACLE_LOAD(block.nx), ny = MACLE_LOAD(block.ny),
                      nz = MACLE_LOAD(block.nz);
        const Doubles speed = nx * dx + ny * dy + nz * dz;
        const Doubles room = MACLE_LOAD(block.d) - (nx * ox + ny * oy + nz * oz);
        const Longs keeps = (room <= slack) & (speed > 0.0);
        if (keeps[0] | keeps[1] | keeps[2] | keeps[3]) return true;
    }
    return false;
}

bool FacetTable::holds(const Eigen::Vector3d& point, double depth_mm) const {
    return allHold(blocks_.data(), static_cast<int>(blocks_.size()), point.data(), depth_mm);
}

bool FacetTable::keepsOut(const Eigen::Vector3d& point, const Eigen::Vector3d& direction,
                          double slack_mm) const {
    return anyKeepsOut(blocks_.data(), static_cast<int>(blocks_.size()), point.data(),
                       direction.data(), slack_mm);
}

bool FacetTable::interval(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                          double& enters, double& leaves, int& entryFace, int& exitFace) const {
    double ends[2];
    int faces[2];
    const bool met = clipLine(blocks_.data(), static_cast<int>(blocks_.size()), origin.data(),
                              direction.data(), ends, faces);
    enters = ends[0];
    leaves = ends[1];
    entryFace = faces[0];
    exitFace = faces[1];
    return met;
}

}  // namespace macle::light
