#include <Eigen/Geometry>
#include <bit>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/mesh_file.h"
#include "core/stone/surface_file.h"

namespace macle {

namespace {

template <class Bits>
void appendLittle(std::string& bytes, Bits value) {
    for (std::size_t i = 0; i < sizeof(Bits); ++i)
        bytes += static_cast<char>(static_cast<std::uint64_t>(value) >> (8 * i) & 0xff);
}

void appendFloats(std::string& bytes, const Eigen::Vector3d& v) {
    for (const double value : {v.x(), v.y(), v.z()})
        appendLittle(bytes, std::bit_cast<std::uint32_t>(static_cast<float>(value)));
}

std::string asStl(const TriangleMesh& mesh) {
    // The head must not begin with "solid", which some readers take for the text form.
    std::string bytes = "Surface in millimetres, written by Macle";
    bytes.resize(80, ' ');
    bytes.reserve(surface_file::stlBytes(mesh.triangles.size()));
    appendLittle(bytes, static_cast<std::uint32_t>(mesh.triangles.size()));
    for (const auto& triangle : mesh.triangles) {
        const Eigen::Vector3d& a = mesh.vertices[triangle[0]];
        const Eigen::Vector3d normal =
            (mesh.vertices[triangle[1]] - a).cross(mesh.vertices[triangle[2]] - a);
        const double length = normal.norm();
        appendFloats(bytes, length > 0.0 ? Eigen::Vector3d(normal / length)
                                         : Eigen::Vector3d(Eigen::Vector3d::Zero()));
        for (const std::uint32_t corner : triangle)
            appendFloats(bytes, mesh.vertices[corner]);
        appendLittle(bytes, std::uint16_t{0});
    }
    return bytes;
}

std::string asPly(const TriangleMesh& mesh) {
    std::string bytes =
        "ply\nformat binary_little_endian 1.0\ncomment Surface in millimetres, written by Macle\n"
        "element vertex " +
        std::to_string(mesh.vertices.size()) +
        "\nproperty double x\nproperty double y\nproperty double z\nelement face " +
        std::to_string(mesh.triangles.size()) +
        "\nproperty list uchar uint vertex_indices\nend_header\n";
    bytes.reserve(bytes.size() + 24 * mesh.vertices.size() + 13 * mesh.triangles.size());
    for (const Eigen::Vector3d& v : mesh.vertices)
        for (const double value : {v.x(), v.y(), v.z()})
            appendLittle(bytes, std::bit_cast<std::uint64_t>(value));
    for (const auto& triangle : mesh.triangles) {
        bytes += '\3';
        for (const std::uint32_t corner : triangle)
            appendLittle(bytes, corner);
    }
    return bytes;
}

std::string asObj(const TriangleMesh& mesh) {
    std::string text = "# Surface in millimetres, written by Macle\n";
    for (const Eigen::Vector3d& v : mesh.vertices)
        text +=
            "v " + formatExact(v.x()) + " " + formatExact(v.y()) + " " + formatExact(v.z()) + "\n";
    for (const auto& [a, b, c] : mesh.triangles)
        text += "f " + std::to_string(std::uint64_t{a} + 1) + " " +
                std::to_string(std::uint64_t{b} + 1) + " " + std::to_string(std::uint64_t{c} + 1) +
                "\n";
    return text;
}

}  // namespace

void writeMeshFile(const TriangleMesh& mesh, const std::filesystem::path& file) {
    std::string extension = file.extension().string();
    for (char& c : extension)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    require(mesh.vertices.size() <= std::numeric_limits<std::uint32_t>::max() &&
                mesh.triangles.size() <= std::numeric_limits<std::uint32_t>::max(),
            "a surface to be written has fewer than 2^32 vertices and triangles");
    for (const auto& triangle : mesh.triangles)
        for (const std::uint32_t corner : triangle)
            require(corner < mesh.vertices.size(), "a surface to be written names its vertices");
    if (extension == ".stl")
        surface_file::writeWhole(file, asStl(mesh));
    else if (extension == ".ply")
        surface_file::writeWhole(file, asPly(mesh));
    else if (extension == ".obj")
        surface_file::writeWhole(file, asObj(mesh));
    else
        throw Error(ErrorCode::BadUsage,
                    "A surface cannot be written as " + surface_file::inQuotes(extension) + ".",
                    "Choose a name that ends in .stl, .ply or .obj.");
}

}  // namespace macle
