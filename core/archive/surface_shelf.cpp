#include "core/archive/surface_shelf.h"

#include <bit>
#include <string_view>

#include "core/base/sha256.h"

namespace macle {

static_assert(std::endian::native == std::endian::little, "surfaces are stored little endian");
static_assert(sizeof(Eigen::Vector3d) == 24, "corners lie packed in memory");

namespace {

template <class T>
std::string_view bytesOf(const std::vector<T>& items) {
    return {reinterpret_cast<const char*>(items.data()), items.size() * sizeof(T)};
}

}  // namespace

std::string SurfaceShelf::nameOf(const TriangleMesh& surface) {
    Sha256 sum;
    // The count parts corners from triangles.
    sum.add(std::to_string(surface.vertices.size()) + ' ');
    sum.add(bytesOf(surface.vertices));
    sum.add(bytesOf(surface.triangles));
    return sum.hex();
}

std::string SurfaceShelf::keep(const TriangleMesh& surface) {
    std::string name = nameOf(surface);
    if (!shelf_.contains(name)) shelf_[name] = std::make_shared<const TriangleMesh>(surface);
    return name;
}

const TriangleMesh* SurfaceShelf::find(const std::string& name) const {
    const auto found = shelf_.find(name);
    return found == shelf_.end() ? nullptr : found->second.get();
}

std::size_t SurfaceShelf::bytes(const TriangleMesh& surface) {
    return surface.vertices.size() * sizeof(surface.vertices[0]) +
           surface.triangles.size() * sizeof(surface.triangles[0]);
}

}  // namespace macle
