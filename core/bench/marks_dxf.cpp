#include <cctype>
#include <fstream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/bench/marks_file.h"

namespace macle {

namespace {

constexpr int kDecimals = 12;  // of a mm: as many as a double holds of a stone's coordinates

void put(std::string& dxf, int code, const std::string& value) {
    dxf += std::to_string(code) + "\n" + value + "\n";
}

void put(std::string& dxf, const Eigen::Vector3d& p) {
    for (int axis = 0; axis < 3; ++axis)
        put(dxf, 10 * (axis + 1), formatFixed(p[axis], kDecimals));
}

// Release 12 knows ASCII only, and a comment is one line.
std::string plain(const std::string& text) {
    std::string line;
    for (const char c : text)
        line += c >= ' ' && c <= '~' ? c : '?';
    return line;
}

// Colours of the format's own list of nine.
const char* colourOf(MarkKind kind) {
    switch (kind) {
        case MarkKind::Reference:
            return "6";
        case MarkKind::SawMiddle:
            return "5";
        case MarkKind::KerfBelow:
        case MarkKind::KerfAbove:
            return "1";
        case MarkKind::Girdle:
            return "3";
    }
    return "7";
}

void addTables(std::string& dxf, const Marks& marks) {
    put(dxf, 0, "SECTION");
    put(dxf, 2, "TABLES");
    put(dxf, 0, "TABLE");
    put(dxf, 2, "LTYPE");
    put(dxf, 70, "1");
    put(dxf, 0, "LTYPE");
    put(dxf, 2, "CONTINUOUS");
    put(dxf, 70, "64");
    put(dxf, 3, "Solid line");
    put(dxf, 72, "65");
    put(dxf, 73, "0");
    put(dxf, 40, "0.0");
    put(dxf, 0, "ENDTAB");
    put(dxf, 0, "TABLE");
    put(dxf, 2, "LAYER");
    put(dxf, 70, std::to_string(marks.curves.size() + 1));
    const auto layer = [&](const std::string& name, const char* colour) {
        put(dxf, 0, "LAYER");
        put(dxf, 2, name);
        put(dxf, 70, "64");
        put(dxf, 62, colour);
        put(dxf, 6, "CONTINUOUS");
    };
    layer("0", "7");
    for (const MarkCurve& curve : marks.curves)
        layer(markLayer(curve), colourOf(curve.kind));
    put(dxf, 0, "ENDTAB");
    put(dxf, 0, "ENDSEC");
}

}  // namespace

std::string markLayer(const MarkCurve& curve) {
    std::string name;
    for (const char c : curve.name)
        name += c == ' ' ? '_' : static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    return name;
}

std::string marksDxf(const Marks& marks, const MarksHeading& heading) {
    std::string dxf;
    put(dxf, 999, "Marks on the skin of " + plain(heading.stone) + ", " + plain(heading.layout));
    put(dxf, 999, "Units: millimetres. Frame: the stone as scanned.");
    for (const std::string& caution : marks.cautions)
        put(dxf, 999, plain(caution));
    put(dxf, 0, "SECTION");
    put(dxf, 2, "HEADER");
    put(dxf, 9, "$ACADVER");
    put(dxf, 1, "AC1009");
    bool any = false;
    Eigen::Vector3d low = Eigen::Vector3d::Zero(), high = low;
    for (const MarkCurve& curve : marks.curves)
        for (const SectionLoop& loop : curve.loops)
            for (const Eigen::Vector3d& p : loop.points) {
                low = any ? low.cwiseMin(p).eval() : p;
                high = any ? high.cwiseMax(p).eval() : p;
                any = true;
            }
    put(dxf, 9, "$EXTMIN");
    put(dxf, low);
    put(dxf, 9, "$EXTMAX");
    put(dxf, high);
    put(dxf, 0, "ENDSEC");
    addTables(dxf, marks);
    put(dxf, 0, "SECTION");
    put(dxf, 2, "BLOCKS");
    put(dxf, 0, "ENDSEC");
    put(dxf, 0, "SECTION");
    put(dxf, 2, "ENTITIES");
    for (const MarkCurve& curve : marks.curves) {
        const std::string layer = markLayer(curve);
        for (const SectionLoop& loop : curve.loops) {
            put(dxf, 0, "POLYLINE");
            put(dxf, 8, layer);
            put(dxf, 66, "1");
            put(dxf, Eigen::Vector3d::Zero());
            put(dxf, 70, "9");  // closed, in three dimensions
            for (const Eigen::Vector3d& p : loop.points) {
                put(dxf, 0, "VERTEX");
                put(dxf, 8, layer);
                put(dxf, p);
                put(dxf, 70, "32");  // of a polyline in three dimensions
            }
            put(dxf, 0, "SEQEND");
            put(dxf, 8, layer);
        }
    }
    put(dxf, 0, "ENDSEC");
    put(dxf, 0, "EOF");
    return dxf;
}

}  // namespace macle
