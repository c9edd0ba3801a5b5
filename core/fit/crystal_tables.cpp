#include "core/fit/crystal_tables.h"

namespace macle {

std::vector<Eigen::Vector3d> crystalTables(const Stone& stone) {
    std::vector<Eigen::Vector3d> tables;
    if (!stone.axes) return tables;
    for (const int zeros : {2, 0, 1})  // cube, octahedron, dodecahedron
        for (int code = 0; code < 27; ++code) {
            const Eigen::Vector3d direction(code % 3 - 1, code / 3 % 3 - 1, code / 9 - 1);
            if ((direction.array() == 0.0).count() == zeros)
                tables.push_back(stone.axes->rotation * direction.normalized());
        }
    return tables;
}

}  // namespace macle
