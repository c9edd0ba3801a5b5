#include "core/stone/volume.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <zlib.h>

#include <cmath>
#include <cstring>
#include <numbers>
#include <random>

#include "core/base/error.h"
#include "core/stone/intake.h"
#include "core/stone/volume_defects.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using shapes::ScratchFolder;
using testing::HasSubstr;

Volume smallVolume() {
    Volume volume;
    volume.size = {4, 3, 2};
    volume.origin_mm = {1.5, -2.0, 0.25};
    volume.step_mm = Vector3d(0.5, 0.25, 0.125).asDiagonal();
    for (int n = 0; n < 24; ++n)
        volume.values.push_back(static_cast<float>(10 * n - 7));
    return volume;
}

void expectSame(const Volume& a, const Volume& b, const std::string& what) {
    EXPECT_EQ(a.size, b.size) << what;
    EXPECT_LT((a.origin_mm - b.origin_mm).norm(), 1e-12) << what;
    EXPECT_LT((a.step_mm - b.step_mm).norm(), 1e-12) << what;
    EXPECT_EQ(a.values, b.values) << what;
}

template <class T>
std::string packedAs(const Volume& volume, bool bigEndian = false) {
    std::string bytes;
    for (const float value : volume.values) {
        const T number = static_cast<T>(value);
        std::string one(sizeof(T), '\0');
        std::memcpy(one.data(), &number, sizeof(T));
        if (bigEndian) std::reverse(one.begin(), one.end());
        bytes += one;
    }
    return bytes;
}

std::string asText(const Volume& volume) {
    std::string text;
    for (const float value : volume.values)
        text += std::to_string(static_cast<int>(value)) + " ";
    return text;
}

std::string deflated(const std::string& bytes) {
    uLongf size = compressBound(bytes.size());
    std::string out(size, '\0');
    EXPECT_EQ(compress(reinterpret_cast<Bytef*>(out.data()), &size,
                       reinterpret_cast<const Bytef*>(bytes.data()), bytes.size()),
              Z_OK);
    out.resize(size);
    return out;
}

std::string gzipped(const std::string& bytes) {
    z_stream stream{};
    EXPECT_EQ(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
    std::string out(compressBound(bytes.size()) + 64, '\0');
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
    stream.avail_in = static_cast<uInt>(bytes.size());
    stream.next_out = reinterpret_cast<Bytef*>(out.data());
    stream.avail_out = static_cast<uInt>(out.size());
    EXPECT_EQ(deflate(&stream, Z_FINISH), Z_STREAM_END);
    out.resize(stream.total_out);
    deflateEnd(&stream);
    return out;
}

std::string base64(const std::string& bytes) {
    constexpr const char* kSigns =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        std::uint32_t bits = 0;
        for (std::size_t k = 0; k < 3; ++k)
            bits =
                bits << 8 | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0u);
        for (std::size_t k = 0; k < 4; ++k)
            text += i + k > bytes.size() ? '=' : kSigns[bits >> (18 - 6 * k) & 63];
    }
    return text;
}

std::string word32(std::uint32_t value) {
    std::string bytes(4, '\0');
    std::memcpy(bytes.data(), &value, 4);
    return bytes;
}

const std::string kMeta =
    "ObjectType = Image\nNDims = 3\nOffset = 1.5 -2 0.25\nElementSpacing = 0.5 0.25 0.125\n"
    "DimSize = 4 3 2\n";
const std::string kNrrd =
    "NRRD0004\n# a remark\nkey:=value\ndimension: 3\nsizes: 4 3 2\nspace origin: (1.5,-2,0.25)\n"
    "space directions: (0.5,0,0) (0,0.25,0) (0,0,0.125)\n";
const std::string kLegacy =
    "# vtk DataFile Version 3.0\na title with words\nASCII\nDATASET STRUCTURED_POINTS\n"
    "DIMENSIONS 4 3 2\nORIGIN 1.5 -2 0.25\nSPACING 0.5 0.25 0.125\nPOINT_DATA 24\n"
    "SCALARS grey short 1\nLOOKUP_TABLE default\n";

std::string xml(const std::string& fileAttributes, const std::string& array,
                const std::string& after = "") {
    return "<?xml version=\"1.0\"?>\n<VTKFile type=\"ImageData\" version=\"1.0\" "
           "byte_order=\"LittleEndian\"" +
           fileAttributes +
           ">\n<ImageData WholeExtent=\"0 3 0 2 0 1\" Origin=\"1.5 -2 0.25\" Spacing=\"0.5 0.25 "
           "0.125\">\n<Piece Extent=\"0 3 0 2 0 1\">\n<PointData Scalars=\"grey\">\n" +
           array + "\n</PointData>\n</Piece>\n</ImageData>\n" + after + "</VTKFile>\n";
}

TEST(Volume, IsReadTheSameFromEveryForm) {
    const ScratchFolder folder;
    const Volume wanted = smallVolume();
    const std::string packed = packedAs<std::int16_t>(wanted);
    writeVolume(wanted, folder / "own.mha");
    expectSame(readVolume(folder / "own.mha"), wanted, "own");
    folder.write("voxels.raw", "junk" + packedAs<std::uint16_t>(wanted));
    folder.write("voxels16.raw", "junk" + packed);
    const std::string deflatedBlock = deflated(packed.substr(0, 32)),
                      rest = deflated(packed.substr(32));
    const std::string table = word32(2) + word32(32) + word32(16) +
                              word32(static_cast<std::uint32_t>(deflatedBlock.size())) +
                              word32(static_cast<std::uint32_t>(rest.size()));
    const std::string zlib = " compressor=\"vtkZLibDataCompressor\" header_type=\"UInt32\"";
    const std::string array16 = "<DataArray type=\"Int16\" Name=\"grey\" format=\"";
    const std::pair<const char*, std::string> files[] = {
        {"a.mha", kMeta + "ElementType = MET_SHORT\nElementDataFile = LOCAL\n" + packed},
        {"b.mha", kMeta +
                      "ElementByteOrderMSB = True\nElementType = MET_DOUBLE\n"
                      "ElementDataFile = LOCAL\n" +
                      packedAs<double>(wanted, true)},
        {"c.mha", kMeta +
                      "CompressedData = True\nElementType = MET_SHORT\nElementDataFile = "
                      "LOCAL\n" +
                      deflated(packed)},
        {"d.mha", kMeta + "BinaryData = False\nElementType = MET_SHORT\nElementDataFile = LOCAL\n" +
                      asText(wanted)},
        {"e.mhd", kMeta + "ElementType = MET_SHORT\nHeaderSize = -1\nElementDataFile = "
                          "voxels16.raw\n"},
        {"f.mhd", kMeta + "ElementType = MET_SHORT\nHeaderSize = 4\nElementDataFile = "
                          "voxels16.raw\n"},
        {"a.nrrd", kNrrd + "type: short\nendian: little\nencoding: raw\n\n" + packed},
        {"b.nrrd",
         kNrrd + "type: float\nendian: big\nencoding: raw\n\n" + packedAs<float>(wanted, true)},
        {"c.nrrd", kNrrd + "type: int16\nendian: little\nencoding: gzip\n\n" + gzipped(packed)},
        {"d.nrrd", kNrrd + "type: int\nencoding: ascii\n\n" + asText(wanted)},
        {"e.nhdr", kNrrd + "type: int16_t\nendian: little\nencoding: raw\nbyte skip: 4\ndata file: "
                           "voxels16.raw\n"},
        {"a.vtk", kLegacy + asText(wanted)},
        {"a.vti", xml("", array16 + "ascii\">" + asText(wanted) + "</DataArray>")},
        {"b.vti",
         xml("", array16 + "binary\">\n  " + base64(word32(48) + packed) + "\n</DataArray>")},
        {"c.vti", xml(zlib, array16 + "binary\">" + base64(table) + base64(deflatedBlock + rest) +
                                "</DataArray>")},
        {"d.vti", xml(zlib, array16 + "appended\" offset=\"0\"/>",
                      "<AppendedData encoding=\"base64\">\n_" + base64(table) +
                          base64(deflatedBlock + rest) + "</AppendedData>\n")},
        {"e.vti",
         xml("", array16 + "appended\" offset=\"0\"/>",
             "<AppendedData encoding=\"raw\">\n_" + word32(48) + packed + "</AppendedData>\n")},
    };
    for (const auto& [name, bytes] : files) {
        try {
            expectSame(readVolume(folder.write(name, bytes)), wanted, name);
        } catch (const Error& error) {
            ADD_FAILURE() << name << ": " << error.what();
        }
    }
    std::string binary = kLegacy;
    binary.replace(binary.find("ASCII"), 5, "BINARY");
    expectSame(readVolume(folder.write("b.vtk", binary + packedAs<std::int16_t>(wanted, true))),
               wanted, "b.vtk");
}

TEST(Volume, UnitsAndTurnedGridsAreHonoured) {
    const ScratchFolder folder;
    const Volume um = readVolume(
        folder.write("um.nrrd",
                     "NRRD0005\ndimension: 3\nsizes: 4 3 2\nspacings: 500 250 125\n"
                     "units: \"um\" \"um\" \"um\"\ntype: uint8\nencoding: ascii\n\n" +
                         std::string(48, '1').replace(0, 48,
                                                      "1 2 3 4 5 6 7 8 9 1 2 3 4 5 6 7 8 9 1 "
                                                      "2 3 4 5 6 ")));
    EXPECT_NEAR(um.step_mm(0, 0), 0.5, 1e-12);
    EXPECT_NEAR(um.step_mm(2, 2), 0.125, 1e-12);
    Volume turned = smallVolume();
    turned.step_mm << 0, -0.25, 0, 0.5, 0, 0, 0, 0, 0.125;
    writeVolume(turned, folder / "turned.mha");
    expectSame(readVolume(folder / "turned.mha"), turned, "turned");
}

std::string refusalOf(const std::filesystem::path& file) {
    try {
        readVolume(file);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput) << error.what();
        EXPECT_FALSE(error.remedy().empty());
        return error.message();
    }
    return "read";
}

TEST(Volume, BadFilesAreRefusedEachWithItsOwnMessage) {
    const ScratchFolder folder;
    folder.write("short.raw", "ab");
    const std::string local = "ElementDataFile = LOCAL\n";
    const std::string type = "ElementType = MET_SHORT\n";
    const std::string raw(48, 'x');
    const auto meta = [&](const std::string& sizes, const std::string& more) {
        return "ObjectType = Image\nNDims = 3\nDimSize = " + sizes + "\n" + more;
    };
    const auto nrrd = [](const std::string& more) {
        return "NRRD0004\ndimension: 3\nsizes: 4 3 2\n" + more;
    };
    const auto legacy = [](const std::string& from, const std::string& to) {
        std::string text = kLegacy;
        return text.replace(text.find(from), from.size(), to);
    };
    const std::string array = "<DataArray type=\"Int16\" format=\"";
    const std::string zlib = " compressor=\"vtkZLibDataCompressor\"";
    const std::tuple<const char*, std::string, const char*> cases[] = {
        {"empty.mha", "", "The file is empty"},
        {"a.dcm", "DICM", "is not that of a volume"},
        {"prose.mha", "Dear planner,\nhere it is.\n", "is no line of a MetaImage header"},
        {"prose.nrrd", "Dear planner", "is no MetaImage, NRRD or VTK"},
        {"headless.mha", kMeta, "has no ElementDataFile"},
        {"sizeless.mha", "NDims = 3\n" + type + local, "has no DimSize"},
        {"typeless.mha", meta("4 3 2", local + raw), "has no ElementType"},
        {"flat.mha", meta("4 3 1", type + local + raw), "4 x 3 x 1 voxels cannot be used"},
        {"negative.mha", meta("4 -3 2", type + local + raw), "4 x -1 x 2 voxels"},
        {"huge.mha", meta("99999 99999 99999", type + local + raw), "voxels, too many"},
        {"large.mha", meta("1000 1000 1000", type + local + raw), "announces 2000000000 bytes"},
        {"two.mha", "NDims = 2\nDimSize = 4 3\n" + type + local, "three dimensions"},
        {"word.mha", meta("4 3 two", type + local + raw), "'two' is not a finite number"},
        {"few.mha", meta("4 3", type + local + raw), "It must be 3 numbers"},
        {"type.mha", meta("4 3 2", "ElementType = MET_STRING\n" + local + raw), "no type of grey"},
        {"short.mha", meta("4 3 2", type + local + "x"), "announces 48 bytes of voxels, but has 1"},
        {"rgb.mha", meta("4 3 2", "ElementNumberOfChannels = 3\n" + type + local + raw),
         "several values per voxel"},
        {"escape.mhd", meta("4 3 2", type + "ElementDataFile = ../secret.raw\n"),
         "which is no file beside it"},
        {"absolute.mhd", meta("4 3 2", type + "ElementDataFile = /etc/passwd\n"),
         "which is no file beside it"},
        {"list.mhd", meta("4 3 2", type + "ElementDataFile = slice%03d.raw 1 2 1\n"),
         "which is no file beside it"},
        {"beside.mhd", meta("4 3 2", type + "ElementDataFile = short.raw\n"), "but has 2"},
        {"packed.mha", meta("4 3 2", "CompressedData = True\n" + type + local + raw),
         "damaged or too short"},
        {"bomb.mha", meta("900 900 900", "CompressedData = True\n" + type + local + deflated(raw)),
         "too short to hold"},
        {"nan.mha", meta("2 2 2", "ElementType = MET_FLOAT\n" + local + std::string(32, '\xff')),
         "voxel 1: Its value is not a finite number"},
        {"zero_step.mha", meta("4 3 2", "ElementSpacing = 0 1 1\n" + type + local + raw),
         "0 mm wide"},
        {"plane.mha", meta("4 3 2", "TransformMatrix = 1 0 0 1 0 0 0 0 1\n" + type + local + raw),
         "lie in one plane"},
        {"unit.mha", meta("4 3 2", "DistanceUnits = ell\n" + type + local + raw), "'ell'"},
        {"far.mha", meta("4 3 2", "Offset = 1e9 0 0\n" + type + local + raw), "beyond 1000000 mm"},
        {"encoding.nrrd", nrrd("type: short\nencoding: bzip2\n\n" + raw), "none of raw, gzip"},
        {"line.nrrd", "NRRD0004\ndimension 3\n", "is no line of a NRRD header"},
        {"type.nrrd", nrrd("type: block\nencoding: raw\n\n" + raw), "'block'"},
        {"short.nrrd", nrrd("type: short\nencoding: raw\n\nx"), "but has 1"},
        {"gzip.nrrd", nrrd("type: short\nencoding: gzip\n\n" + raw), "damaged or too short"},
        {"text.nrrd", nrrd("type: short\nencoding: ascii\n\n1 2 3"), "can hold"},
        {"escape.nhdr", nrrd("type: short\nencoding: raw\ndata file: ../x.raw\n"), "beside it"},
        {"units.nrrd", nrrd("units: \"mm\" \"um\" \"mm\"\ntype: short\nencoding: raw\n\n" + raw),
         "not one for all"},
        {"form.vtk", legacy("ASCII", "OTHER"), "neither ASCII nor BINARY"},
        {"grid.vtk", legacy("STRUCTURED_POINTS", "POLYDATA"), "no DATASET STRUCTURED_POINTS"},
        {"points.vtk", legacy("POINT_DATA 24", "POINT_DATA 25"), "as many points"},
        {"cells.vtk", legacy("POINT_DATA 24", "CELL_DATA 6"), "does not belong here"},
        {"vector.vtk", legacy("grey short 1", "grey short 3"), "several values"},
        {"type.vtk", legacy("grey short", "grey bit"), "'bit' is no type"},
        {"end.vtk", legacy("POINT_DATA 24\nSCALARS grey short 1\nLOOKUP_TABLE default\n", ""),
         "ends before its POINT_DATA"},
        {"word.vtk", kLegacy + "1 2 three 4 5 6 7 8 9 0 1 2 3 4 5 6 7 8 9 0 1 2 3 4",
         "line 11: 'three' is not a finite number"},
        {"kind.vti", "<VTKFile type=\"PolyData\"></VTKFile>", "holds no ImageData"},
        {"open.vti", "<VTKFile type=\"Image", "is not complete"},
        {"image.vti", "<VTKFile type=\"ImageData\"></VTKFile>", "has no <ImageData>"},
        {"lz4.vti", xml(" compressor=\"vtkLZ4DataCompressor\"", array + "binary\">"),
         "cannot be unpacked"},
        {"short.vti", xml("", array + "binary\">" + base64(word32(48) + "ab") + "</DataArray>"),
         "fewer than the volume announces"},
        {"count.vti", xml("", array + "binary\">" + base64(word32(40) + raw) + "</DataArray>"),
         "fewer than the volume announces"},
        {"table.vti",
         xml(zlib, array + "binary\">" + base64(word32(4000000000u) + word32(1) + word32(1)) + "<"),
         "does not fit the volume"},
        {"format.vti", xml("", array + "morse\">"), "'morse' is none of"},
        {"offset.vti",
         xml("", array + "appended\" offset=\"99999\"/>", "<AppendedData encoding=\"raw\">_x"),
         "do not begin inside"},
    };
    int count = 0;
    for (const auto& [name, bytes, reason] : cases) {
        EXPECT_THAT(refusalOf(folder.write(name, bytes)), HasSubstr(reason)) << name;
        ++count;
    }
    EXPECT_GT(count, 50);
}

TEST(Volume, DamagedFilesEndInAnErrorOrInAVolume) {
    const ScratchFolder folder;
    std::mt19937 random(2);
    const std::string packed = packedAs<std::int16_t>(smallVolume());
    const std::pair<const char*, std::string> sources[] = {
        {"x.mha", kMeta +
                      "CompressedData = True\nElementType = MET_SHORT\nElementDataFile = "
                      "LOCAL\n" +
                      deflated(packed)},
        {"x.nrrd", kNrrd + "type: short\nendian: little\nencoding: gzip\n\n" + gzipped(packed)},
        {"x.vtk", kLegacy + asText(smallVolume())},
        {"x.vti", xml("", "<DataArray type=\"Int16\" format=\"binary\">" +
                              base64(word32(48) + packed) + "</DataArray>")}};
    int read = 0, refused = 0;
    for (const auto& [name, original] : sources)
        for (int round = 0; round < 400; ++round) {
            std::string bytes = original;
            for (std::size_t i = 0; i < 1 + random() % 3; ++i) {
                const std::size_t at = random() % bytes.size();
                if (random() % 3 == 0)
                    bytes.erase(at, 1 + random() % 8);
                else
                    bytes[at] = static_cast<char>(bytes[at] ^ (1 << random() % 8));
            }
            try {
                const Volume volume = readVolume(folder.write(name, bytes));
                ASSERT_EQ(volume.values.size(), volume.count());
                ++read;
            } catch (const Error& error) {
                ASSERT_NE(error.code(), ErrorCode::Internal) << error.what();
                ++refused;
            }
        }
    EXPECT_GT(read, 100);
    EXPECT_GT(refused, 300);
}

// A dark field with three bright ellipsoids whose edges are as sharp as a voxel, as a scanner sees
// them; spacing and direction of the grid are not the plain ones.
Volume phantom(const std::vector<Ellipsoid>& bodies, int n, double noise = 0.0) {
    Volume volume;
    volume.size = {n, n + 7, n - 5};
    volume.step_mm = Vector3d(0.05, 0.04, 0.06).asDiagonal();
    volume.step_mm = Eigen::AngleAxisd(0.3, Vector3d(1, 2, 3).normalized()) * volume.step_mm;
    volume.origin_mm = {-1.0, -1.2, -0.8};
    std::mt19937 random(6);
    std::normal_distribution<float> shake(0.0F, static_cast<float>(noise));
    volume.values.reserve(volume.count());
    for (int k = 0; k < volume.size[2]; ++k)
        for (int j = 0; j < volume.size[1]; ++j)
            for (int i = 0; i < volume.size[0]; ++i) {
                const Vector3d p = volume.place_mm(Vector3d(i, j, k));
                float value = 100.0F;
                for (const Ellipsoid& e : bodies) {
                    const Vector3d local =
                        (e.rotation.conjugate() * (p - e.centre_mm)).cwiseQuotient(e.halfAxes_mm);
                    // Signed distance to first order, over a blur of a voxel.
                    const double gradient =
                        local.cwiseQuotient(e.halfAxes_mm).norm() / std::max(local.norm(), 1e-9);
                    const double distance = (local.norm() - 1.0) / gradient;
                    value += static_cast<float>(800.0 / (1.0 + std::exp(distance / 0.02)));
                }
                volume.values.push_back(noise > 0.0 ? value + shake(random) : value);
            }
    return volume;
}

std::vector<Ellipsoid> threeBodies() {
    const Volume frame = phantom({}, 60);
    return {
        {frame.place_mm({18, 20, 18}), {0.45, 0.30, 0.35}, Eigen::Quaterniond(0.5, 0.5, -0.5, 0.5)},
        {frame.place_mm({42, 48, 36}), {0.20, 0.25, 0.30}, Eigen::Quaterniond::Identity()},
        {frame.place_mm({40, 18, 40}), {0.15, 0.15, 0.15}, Eigen::Quaterniond::Identity()}};
}

double sizeOf(const Ellipsoid& e) {
    return 4.0 / 3.0 * std::numbers::pi * e.halfAxes_mm.prod();
}

TEST(VolumeDefects, ThreeOfKnownSizeAreFoundEachWithinThreePercent) {
    const auto bodies = threeBodies();
    VolumeDefectOptions options;
    options.range = {500.0, 1e6};
    options.kind = DefectKind::Crystal;
    options.severity = 4;
    const VolumeDefects found = defectsFromVolume(phantom(bodies, 60), options);
    ASSERT_EQ(found.defects.size(), 3u);
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_NEAR(found.volumes_mm3[i] / sizeOf(bodies[i]), 1.0, 0.03) << i;
        RecordProperty("share_" + std::to_string(i),
                       std::to_string(found.volumes_mm3[i] / sizeOf(bodies[i])));
        EXPECT_NEAR(defectVolume_mm3(found.defects[i]), found.volumes_mm3[i], 1e-12);
        EXPECT_LT((defectBounds(found.defects[i]).centre() - bodies[i].centre_mm).norm(), 0.01);
        // A surface that every later step may trust: closed, one shell, outward, not touching.
        const auto shells = splitShells(std::get<TriangleMesh>(found.defects[i].shape));
        ASSERT_EQ(shells.size(), 1u);
        EXPECT_NEAR(signedVolume_mm3(shells[0]), found.volumes_mm3[i], 1e-9);
        EXPECT_EQ(found.defects[i].kind, DefectKind::Crystal);
        EXPECT_EQ(found.defects[i].severity, 4);
    }
    EXPECT_EQ(found.tooSmall + found.atBorder + found.outside + found.cavities, 0);
}

TEST(VolumeDefects, NoiseIsCountedAndLeftOut) {
    const auto bodies = threeBodies();
    VolumeDefectOptions options;
    options.range = {500.0, 1e6};
    options.smallest_mm3 = 0.005;
    const VolumeDefects found = defectsFromVolume(phantom(bodies, 60, 130.0), options);
    ASSERT_EQ(found.defects.size(), 3u);
    for (std::size_t i = 0; i < 3; ++i)
        EXPECT_NEAR(found.volumes_mm3[i] / sizeOf(bodies[i]), 1.0, 0.05) << i;
    EXPECT_GT(found.tooSmall + found.atBorder, 50);
    EXPECT_GT(found.tooSmall_mm3, 0.0);
}

TEST(VolumeDefects, DarkPartsAreFoundAndTheAirAroundIsNot) {
    // A bright ball in air with a dark bubble in it and a bright grain in the bubble.
    const Volume frame = phantom({}, 60);
    const Ellipsoid ball{frame.place_mm({30, 33, 27}), {0.95, 0.95, 0.95}};
    const Ellipsoid bubble{ball.centre_mm, {0.4, 0.4, 0.4}};
    Volume volume = phantom({ball}, 60);
    const Volume dark = phantom({bubble}, 60);
    const Volume grain = phantom({{ball.centre_mm, {0.15, 0.15, 0.15}}}, 60);
    for (std::size_t i = 0; i < volume.values.size(); ++i)
        volume.values[i] += grain.values[i] - dark.values[i];
    VolumeDefectOptions options;
    options.range = {-1e6, 500.0};
    const VolumeDefects found = defectsFromVolume(volume, options);
    ASSERT_EQ(found.defects.size(), 1u);
    EXPECT_NEAR(found.volumes_mm3[0] / sizeOf(bubble), 1.0, 0.03) << "with the grain in it";
    EXPECT_EQ(found.cavities, 1);
    EXPECT_EQ(found.atBorder, 1) << "the air";
    EXPECT_EQ(splitShells(std::get<TriangleMesh>(found.defects[0].shape)).size(), 1u);
    // The air is taken when asked for: then it ends at the end of the volume.
    options.dropAtBorder = false;
    EXPECT_EQ(defectsFromVolume(volume, options).defects.size(), 2u);
    // Only inside a skin that is not there.
    const TriangleMesh elsewhere = shapes::octahedron(0.1);
    options.dropAtBorder = true;
    options.within = &elsewhere;
    EXPECT_EQ(defectsFromVolume(volume, options).outside, 1);
}

TEST(VolumeDefects, RandomFieldsGiveSoundSurfaces) {
    std::mt19937 random(12);
    for (int round = 0; round < 20; ++round) {
        Volume volume;
        volume.size = {8, 7, 9};
        volume.step_mm = Vector3d(0.1, -0.1, 0.1).asDiagonal();  // a mirrored grid, too
        for (std::size_t i = 0; i < volume.count(); ++i)
            volume.values.push_back(static_cast<float>(random() % 5));  // many on the very level
        VolumeDefectOptions options;
        options.range = {3.0, 10.0};
        options.dropAtBorder = false;
        const VolumeDefects found = defectsFromVolume(volume, options);
        ASSERT_FALSE(found.defects.empty());
        for (const Defect& defect : found.defects) {
            const auto& mesh = std::get<TriangleMesh>(defect.shape);
            ASSERT_GT(signedVolume_mm3(mesh), 0.0);
            ASSERT_EQ(splitShells(mesh).size(), 1u);
        }
    }
}

TEST(VolumeDefects, RefuseWhatMakesNoSense) {
    const Volume volume = phantom(threeBodies(), 20);
    VolumeDefectOptions options;
    options.range = {5.0, 4.0};
    EXPECT_THROW(defectsFromVolume(volume, options), Error);
    options.range = {4.0, NAN};
    EXPECT_THROW(defectsFromVolume(volume, options), Error);
    options.range = {1e8, 1e9};
    EXPECT_TRUE(defectsFromVolume(volume, options).defects.empty());
    Progress progress;
    progress.cancel();
    EXPECT_THROW(defectsFromVolume(volume, options, &progress), Error);
    const Histogram histogram = histogramOf(volume, 16);
    long long sum = 0;
    for (const long long n : histogram.counts)
        sum += n;
    EXPECT_EQ(sum, static_cast<long long>(volume.count()));
}

}  // namespace
}  // namespace macle
