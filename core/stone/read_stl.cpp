// STL, binary and text. The normals are not read: the order of the corners says which side is out,
// and many writers leave zeros or nonsense there.
#include <bit>
#include <cstring>

#include "core/stone/surface_file.h"

namespace macle::surface_file {

namespace {

constexpr const char* kExportAgain = "Export the surface again as binary STL, PLY or OBJ.";

std::uint32_t littleWord(const char* bytes) {
    std::uint32_t value = 0;
    for (int i = 3; i >= 0; --i)
        value = value << 8 | static_cast<unsigned char>(bytes[i]);
    return value;
}

void expect(const Source& source, Words& words, std::string_view wanted) {
    const std::string_view word = words.next();
    if (word.empty())
        reject(source, words.place(),
               "The file ends where '" + std::string(wanted) + "' should stand.",
               "It was cut short; export or copy it again.");
    if (!sameWord(word, wanted))
        reject(source, words.place(),
               "'" + std::string(wanted) + "' was expected, not " + inQuotes(word) + ".",
               kExportAgain);
}

}  // namespace

TriangleMesh readStlBinary(const Source& source) {
    const std::string_view bytes = source.bytes;
    const std::uint32_t count = bytes.size() >= 84 ? littleWord(bytes.data() + 80) : 0;
    if (bytes.size() < 84 || bytes.size() != stlBytes(count))
        reject(source, "",
               bytes.size() < 84
                   ? "The file ends within the 84 bytes that head a binary STL."
                   : "As a binary STL it announces " + std::to_string(count) + " triangles, " +
                         std::to_string(stlBytes(count)) + " bytes, but has " +
                         std::to_string(bytes.size()) + " bytes.",
               "It was cut short or is no STL; export or copy it again.");
    if (count == 0) reject(source, "", "It holds no triangles.", kExportAgain);
    TriangleMesh mesh;
    mesh.vertices.reserve(std::size_t{3} * count);
    mesh.triangles.reserve(count);
    for (std::uint32_t t = 0; t < count; ++t) {
        const std::size_t start = stlBytes(t);
        if (t % kPollEvery == 0) source.reached(start);
        for (std::size_t corner = 0; corner < 3; ++corner) {
            Eigen::Vector3d point;
            for (std::size_t axis = 0; axis < 3; ++axis) {
                const char* at = bytes.data() + start + 12 + 12 * corner + 4 * axis;
                const double value = std::bit_cast<float>(littleWord(at));
                point[static_cast<Eigen::Index>(axis)] = value;
            }
            if (!(point.cwiseAbs().maxCoeff() <= kFarthestCoordinate_mm) || point.hasNaN())
                for (const double value : {point.x(), point.y(), point.z()})
                    checkedCoordinate(source, "triangle " + std::to_string(t + 1), value);
            mesh.vertices.push_back(point);
        }
        mesh.triangles.push_back({3 * t, 3 * t + 1, 3 * t + 2});
    }
    return mesh;
}

TriangleMesh readStlText(const Source& source) {
    TriangleMesh mesh;
    Words words(source, 0);
    expect(source, words, "solid");
    words.skipLine();
    bool insideSolid = true;
    for (;;) {
        const std::string_view word = words.next();
        if (word.empty()) break;
        if (!insideSolid) {
            if (!sameWord(word, "solid"))
                reject(source, words.place(),
                       "After 'endsolid' stands " + inQuotes(word) + " instead of another 'solid'.",
                       kExportAgain);
            words.skipLine();
            insideSolid = true;
            continue;
        }
        if (sameWord(word, "endsolid")) {
            words.skipLine();
            insideSolid = false;
            continue;
        }
        if (!sameWord(word, "facet"))
            reject(source, words.place(),
                   "'facet' or 'endsolid' was expected, not " + inQuotes(word) + ".", kExportAgain);
        expect(source, words, "normal");
        for (int i = 0; i < 3; ++i)
            words.next();
        expect(source, words, "outer");
        expect(source, words, "loop");
        const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
        for (int corner = 0; corner < 3; ++corner) {
            expect(source, words, "vertex");
            Eigen::Vector3d point;
            for (int axis = 0; axis < 3; ++axis) {
                const double value = words.number();
                point[axis] = std::abs(value) <= kFarthestCoordinate_mm
                                  ? value
                                  : checkedCoordinate(source, words.place(), value);
            }
            mesh.vertices.push_back(point);
        }
        expect(source, words, "endloop");
        expect(source, words, "endfacet");
        mesh.triangles.push_back({first, first + 1, first + 2});
        if (mesh.triangles.size() % kPollEvery == 0) source.reached(words.at());
    }
    if (insideSolid)
        reject(source, words.place(), "The file ends without 'endsolid'.",
               "It was cut short; export or copy it again.");
    if (mesh.triangles.empty()) reject(source, "", "It holds no triangles.", kExportAgain);
    return mesh;
}

}  // namespace macle::surface_file
