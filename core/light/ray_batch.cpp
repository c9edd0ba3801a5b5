#include "core/light/ray_batch.h"

#include <limits>

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

MACLE_MANY_WIDTHS
void meetFaces(const FacetTable& table, RayBatch& rays) {
    const FaceBlock* blocks = table.blocks().data();
    const BlockMask* reach = table.reachTable();
    const Doubles far = Doubles{} + std::numeric_limits<double>::infinity();
    for (int ray = 0; ray < rays.count; ++ray) {
        const double ox = rays.ox[ray], oy = rays.oy[ray], oz = rays.oz[ray];
        const double dx = rays.dx[ray], dy = rays.dy[ray], dz = rays.dz[ray];
        const int cell = directionCell(dx, dy, dz);
        BlockMask mask = reach[static_cast<std::size_t>(rays.face[ray]) * FacetTable::kCells +
                               static_cast<std::size_t>(cell)];
        Doubles best = far;
        Longs where = {};
        for (; mask != 0; mask &= mask - 1) {
            const int at = __builtin_ctzll(mask);
            const FaceBlock& block = blocks[at];
            const Doubles nx = MACLE_LOAD(block.nx), ny = MACLE_LOAD(block.ny),
                          nz = MACLE_LOAD(block.nz);
            const Doubles speed = nx * dx + ny * dy + nz * dz;
            const Doubles room = MACLE_LOAD(block.d) - (nx * ox + ny * oy + nz * oz);
            const Doubles time = room / speed;
            const Longs nearer = (speed > 0.0) & (time < best);
            best = nearer ? time : best;
            where = nearer ? Longs{} + at : where;
        }
        double least = best[0];
        int lane = 0;
        for (int other = 1; other < FaceBlock::kLanes; ++other)
            if (best[other] < least) {
                least = best[other];
                lane = other;
            }
        const auto at = static_cast<int>(where[lane]);
        rays.t[ray] = least > 0.0 ? least : 0.0;  // a start on an edge may lie a rounding outside
        rays.face[ray] = at * FaceBlock::kLanes + lane;
        rays.nx[ray] = blocks[at].nx[lane];
        rays.ny[ray] = blocks[at].ny[lane];
        rays.nz[ray] = blocks[at].nz[lane];
    }
}

}  // namespace macle::light
