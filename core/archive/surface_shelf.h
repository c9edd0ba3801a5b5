// SurfaceShelf: triangle surfaces under the SHA-256 of their content, so that versions of a stone
// share what did not change and a damaged surface cannot pass for another.
// Thread contract: one thread at a time; the surfaces handed out are immutable.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <string>

#include "core/stone/mesh.h"

namespace macle {

class SurfaceShelf {
  public:
    using Surface = std::shared_ptr<const TriangleMesh>;

    // Hash of the corners and triangles in their order, bit for bit.
    static std::string nameOf(const TriangleMesh& surface);

    // Puts a copy on the shelf unless it is there; returns its name.
    std::string keep(const TriangleMesh& surface);
    void put(const std::string& name, Surface surface) { shelf_[name] = std::move(surface); }
    const TriangleMesh* find(const std::string& name) const;
    void drop(const std::string& name) { shelf_.erase(name); }

    const std::map<std::string, Surface>& all() const { return shelf_; }
    static std::size_t bytes(const TriangleMesh& surface);

  private:
    std::map<std::string, Surface> shelf_;
};

}  // namespace macle
