// Surfaces of known volume for the tests of this folder.
#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <random>
#include <string>

#include "core/stone/mesh.h"

namespace macle::shapes {

inline TriangleMesh box(const Eigen::Vector3d& low, const Eigen::Vector3d& high) {
    TriangleMesh mesh;
    for (int i = 0; i < 8; ++i)
        mesh.vertices.emplace_back(i & 1 ? high.x() : low.x(), i & 2 ? high.y() : low.y(),
                                   i & 4 ? high.z() : low.z());
    mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                      {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
    return mesh;
}

inline TriangleMesh octahedron(double edge) {
    const double r = edge / std::numbers::sqrt2;
    TriangleMesh mesh;
    mesh.vertices = {{r, 0, 0}, {-r, 0, 0}, {0, r, 0}, {0, -r, 0}, {0, 0, r}, {0, 0, -r}};
    mesh.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4},
                      {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
    return mesh;
}

// A star-shaped, non-convex body around the origin.
inline TriangleMesh bumpy(int rings, double radius) {
    const int segments = 2 * rings;
    TriangleMesh mesh;
    const auto place = [&](double polar, double around) {
        const double r = radius * (1.0 + 0.15 * std::sin(3.0 * polar) * std::cos(2.0 * around));
        return Eigen::Vector3d(r * std::sin(polar) * std::cos(around),
                               r * std::sin(polar) * std::sin(around), r * std::cos(polar));
    };
    mesh.vertices.push_back(place(0.0, 0.0));
    for (int i = 1; i < rings; ++i)
        for (int j = 0; j < segments; ++j)
            mesh.vertices.push_back(
                place(std::numbers::pi * i / rings, 2.0 * std::numbers::pi * j / segments));
    mesh.vertices.push_back(place(std::numbers::pi, 0.0));
    const auto last = static_cast<std::uint32_t>(mesh.vertices.size() - 1);
    const auto at = [&](int i, int j) {
        return static_cast<std::uint32_t>(1 + (i - 1) * segments + j % segments);
    };
    for (int j = 0; j < segments; ++j) {
        mesh.triangles.push_back({0, at(1, j), at(1, j + 1)});
        mesh.triangles.push_back({last, at(rings - 1, j + 1), at(rings - 1, j)});
        for (int i = 1; i + 1 < rings; ++i) {
            mesh.triangles.push_back({at(i, j), at(i + 1, j), at(i + 1, j + 1)});
            mesh.triangles.push_back({at(i, j), at(i + 1, j + 1), at(i, j + 1)});
        }
    }
    return mesh;
}

inline TriangleMesh moved(TriangleMesh mesh, const Eigen::Quaterniond& turn,
                          const Eigen::Vector3d& shift) {
    for (Eigen::Vector3d& v : mesh.vertices)
        v = turn * v + shift;
    return mesh;
}

inline TriangleMesh turnedInsideOut(TriangleMesh mesh) {
    for (auto& triangle : mesh.triangles)
        std::swap(triangle[1], triangle[2]);
    return mesh;
}

inline TriangleMesh together(const TriangleMesh& one, const TriangleMesh& two) {
    TriangleMesh mesh = one;
    const auto shift = static_cast<std::uint32_t>(one.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), two.vertices.begin(), two.vertices.end());
    for (const auto& [a, b, c] : two.triangles)
        mesh.triangles.push_back({a + shift, b + shift, c + shift});
    return mesh;
}

// Each triangle with its own three vertices, as an STL gives it.
inline TriangleMesh unwelded(const TriangleMesh& mesh) {
    TriangleMesh loose;
    for (const auto& triangle : mesh.triangles) {
        const auto first = static_cast<std::uint32_t>(loose.vertices.size());
        for (const std::uint32_t v : triangle)
            loose.vertices.push_back(mesh.vertices[v]);
        loose.triangles.push_back({first, first + 1, first + 2});
    }
    return loose;
}

// Rounded to single precision. The store is volatile because GCC 12 drops the rounding of a plain
// double-float-double cast when it works on two numbers at a time.
inline Eigen::Vector3d inSinglePrecision(const Eigen::Vector3d& v) {
    Eigen::Vector3d rounded;
    for (int axis = 0; axis < 3; ++axis) {
        volatile float single = static_cast<float>(v[axis]);
        rounded[axis] = single;
    }
    return rounded;
}

// A folder of its own for one test, removed at its end.
class ScratchFolder {
  public:
    ScratchFolder() {
        std::random_device random;
        path_ = std::filesystem::temp_directory_path() /
                ("macle-stone-" + std::to_string(random()) + std::to_string(random()));
        std::filesystem::create_directories(path_);
    }
    ~ScratchFolder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;

    std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
    std::filesystem::path write(const std::string& name, const std::string& bytes) const {
        std::ofstream(path_ / name, std::ios::binary) << bytes;
        return path_ / name;
    }

  private:
    std::filesystem::path path_;
};

inline std::string bytesOf(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

}  // namespace macle::shapes
