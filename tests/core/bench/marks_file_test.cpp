// Marks as DXF, read back by an independent reader, and as SVG, read back by an XML reader of this
// test's own.
#include "core/bench/marks_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>

#include <clocale>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <random>
#include <regex>
#include <sstream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "tests/core/bench/mark_cases.h"

using namespace macle;
using namespace macle::bodies;
using namespace macle::marks_test;
using ::testing::HasSubstr;

namespace {

class File {
  public:
    explicit File(const std::string& ending) {
        std::random_device random;
        path_ = std::filesystem::temp_directory_path() /
                ("macle-marks-" + std::to_string(random()) + ending);
    }
    ~File() {
        std::error_code ignored;
        std::filesystem::remove(path_, ignored);
    }
    File(const File&) = delete;
    File& operator=(const File&) = delete;
    const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

Case sawnSample() {
    Case c(sampleStone(20000).rough, 5.0);
    c.layout.saws = {saw(Vector3d(0.1, 0.0, 1.0), 2.0, 0.12),
                     saw(Vector3d(1.0, 0.1, 0.2), -2.5, 0.2)};
    c.layout.saws[1].v = VKerf{Vector3d::UnitY(), 0.05};
    return c;
}

Marks allOf(const Case& c) {
    MarkRequest request;
    request.girdles = true;
    return c.marks(request);
}

// What the reader says of the file, by the first Python that has it (the system's may not come
// first on the path).
std::pair<int, std::string> readBack(const std::filesystem::path& file) {
    std::pair<int, std::string> result{127, ""};
    for (const char* python : {"python3", "/usr/bin/python3"}) {
        const std::string command =
            std::string(python) + " '" + MACLE_DXF_READER + "' '" + file.string() + "' 2>&1";
        FILE* pipe = popen(command.c_str(), "r");
        if (pipe == nullptr) continue;
        result.second.clear();
        std::array<char, 4096> buffer{};
        while (std::fgets(buffer.data(), buffer.size(), pipe) != nullptr)
            result.second += buffer.data();
        result.first = WEXITSTATUS(pclose(pipe));
        if (result.first == 0) break;
    }
    return result;
}

TEST(MarksDxf, AnIndependentReaderFindsTheSameCurves) {
    for (const bool sample : {false, true}) {
        Case c = sample ? sawnSample() : Case(octahedronStone(8.0, 2).rough, 3.0);
        if (!sample) c.layout.saws = {saw(Vector3d::UnitX(), 2.5, 0.1)};
        const Marks marks = allOf(c);
        const File file(".dxf");
        writeTextFile(file.path(), "drawing", marksDxf(marks, {"Stone \xc3\xa9\n1", "Layout 1"}));
        const auto [status, out] = readBack(file.path());
        if (status == 77 || status == 127)
            GTEST_SKIP() << "no ezdxf here: apt-get install python3-ezdxf";
        ASSERT_EQ(status, 0) << out;

        std::istringstream lines(out);
        std::string word, rest;
        std::size_t curve = 0, loop = 0, point = 0, loops = 0;
        double worstLength = 0.0, worstPoint = 0.0;
        const auto current = [&]() -> const SectionLoop& {
            return marks.curves.at(curve).loops.at(loop);
        };
        bool first = true;
        while (lines >> word) {
            if (word == "point") {
                Vector3d p;
                lines >> p.x() >> p.y() >> p.z();
                worstPoint = std::max(worstPoint, (p - current().points.at(point++)).norm());
            } else if (word == "loop") {
                if (!first && ++loop == marks.curves.at(curve).loops.size()) {
                    loop = 0;
                    ++curve;
                }
                first = false;
                point = 0;
                ++loops;
                std::string layer;
                int closed = 0, solid = 0;
                std::size_t points = 0;
                double length = 0.0;
                lines >> layer >> closed >> solid >> points >> length;
                EXPECT_EQ(layer, markLayer(marks.curves.at(curve)));
                EXPECT_EQ(closed, 1);
                EXPECT_EQ(solid, 1);
                EXPECT_EQ(points, current().points.size());
                worstLength = std::max(worstLength, std::abs(length - current().length_mm()));
            } else if (word == "version") {
                lines >> rest;
                EXPECT_EQ(rest, "AC1009");
            } else if (word == "faults") {
                int faults = -1;
                lines >> faults;
                EXPECT_EQ(faults, 0) << out.substr(0, 400);
            } else if (word == "layers") {
                std::getline(lines, rest);
                for (const MarkCurve& each : marks.curves)
                    EXPECT_THAT(rest + " ", HasSubstr(" " + markLayer(each) + " "));
            } else {
                ADD_FAILURE() << "unexpected: " << word;
            }
        }
        std::size_t own = 0;
        for (const MarkCurve& each : marks.curves)
            own += each.loops.size();
        EXPECT_EQ(loops, own);
        EXPECT_LE(worstLength, 1e-9);
        EXPECT_LE(worstPoint, 2e-12);
        std::cout << loops << " loops read back: lengths within " << worstLength
                  << " mm, points within " << worstPoint << " mm\n";
    }
}

TEST(MarksDxf, SaysUnitsAndCautionsInPlainAscii) {
    const std::string dxf = marksDxf(allOf(sawnSample()), {"St\xc3\xa9\n0\nEOF", "Layout 1"});
    EXPECT_THAT(dxf, HasSubstr("999\nUnits: millimetres."));
    EXPECT_THAT(dxf, HasSubstr("999\nLaser: class 4."));
    EXPECT_THAT(dxf, HasSubstr("St???0?EOF"));
    for (const char c : dxf)
        ASSERT_TRUE(c == '\n' || (c >= ' ' && c <= '~'));
    EXPECT_TRUE(dxf.ends_with("0\nEOF\n"));
}

// Tags in order, to see that each is closed by its own; and the words between them.
void expectWellFormed(const std::string& svg) {
    static const std::regex kTag("<(/?)([A-Za-z]+)([^<>]*?)(/?)>");
    std::vector<std::string> open;
    for (auto at = std::sregex_iterator(svg.begin() + static_cast<std::ptrdiff_t>(svg.find("?>")),
                                        svg.end(), kTag);
         at != std::sregex_iterator(); ++at) {
        if (!(*at)[1].str().empty()) {
            ASSERT_FALSE(open.empty());
            EXPECT_EQ(open.back(), (*at)[2].str());
            open.pop_back();
        } else if ((*at)[4].str().empty()) {
            open.push_back((*at)[2].str());
        }
    }
    EXPECT_TRUE(open.empty());
    EXPECT_EQ(svg.find("nan"), std::string::npos);
    EXPECT_EQ(svg.find("inf\""), std::string::npos);
}

TEST(MarksSvg, IsATrueScaleDrawingInMillimetres) {
    const double edge = 8.0, corner = edge / std::numbers::sqrt2;
    Case c(octahedronStone(edge, 2).rough, 3.0);
    c.layout.saws = {saw(Vector3d::UnitX(), 2.5, 0.1)};
    const Marks marks = allOf(c);
    const std::string svg = marksSvg(marks, c.rough.mesh, {"A < B & \"C\"", "Layout 1"});
    expectWellFormed(svg);
    EXPECT_THAT(svg, HasSubstr("width=\"297.0000mm\""));
    EXPECT_THAT(svg, HasSubstr("viewBox=\"0 0 297.0000"));
    EXPECT_THAT(svg, HasSubstr("A &lt; B &amp; &quot;C&quot;"));
    for (const MarkCurve& curve : marks.curves)
        EXPECT_THAT(svg, HasSubstr(curve.name + ": " + formatFixed(curve.length_mm, 3) + " mm"));
    for (const std::string& caution : marks.cautions)
        EXPECT_THAT(svg, HasSubstr(caution.substr(0, 30)));
    EXPECT_THAT(svg, HasSubstr(">5 mm<"));

    // Facing the table along z with index 0 along x, a path's coordinates are mm of the stone: the
    // girdle's square has its corners on the axes, and the middle of the saw stands at x = 2.5.
    const std::size_t view = svg.find("<title>Facing the reference face</title>");
    ASSERT_NE(view, std::string::npos);
    const std::string group = svg.substr(view, svg.find("</g>", view) - view);
    const auto pathsOf = [&](const std::string& name) {
        std::vector<Eigen::Vector2d> points;
        const std::regex path("<path d=\"([^\"]*)\"[^>]*><title>" + name + "</title>");
        const std::regex pair("[ML](-?[0-9.]+) (-?[0-9.]+)");
        for (auto at = std::sregex_iterator(group.begin(), group.end(), path);
             at != std::sregex_iterator(); ++at) {
            const std::string d = (*at)[1];
            for (auto p = std::sregex_iterator(d.begin(), d.end(), pair);
                 p != std::sregex_iterator(); ++p)
                points.emplace_back(*parseNumber((*p)[1].str()), *parseNumber((*p)[2].str()));
        }
        return points;
    };
    const auto girdle = pathsOf("girdle");
    ASSERT_GE(girdle.size(), 4u);
    double reach = 0.0;
    for (const auto& p : girdle) {
        EXPECT_LE(p.cwiseAbs().sum(), corner + 1e-3);
        reach = std::max(reach, p.cwiseAbs().maxCoeff());
    }
    EXPECT_NEAR(reach, corner, 1e-4);
    const auto middle = pathsOf("saw 1 middle");
    ASSERT_GE(middle.size(), 2u);
    for (const auto& p : middle)
        EXPECT_NEAR(p.x(), 2.5, 1e-4);
}

TEST(MarksSvg, HidesWhatTheStoneHides) {
    // Facing the plane all of its rim is in sight, from behind nothing; from a side the near half
    // is, and so it is of a saw across.
    Case c(octahedronStone(8.0, 2).rough, 3.0);
    MarkRequest request;
    std::string svg = marksSvg(c.marks(request), c.rough.mesh, {"a", "b"});
    const auto styles = [&](const std::string& title, const std::string& name) {
        const std::size_t view = svg.find("<title>" + title + "</title>");
        const std::string group = svg.substr(view, svg.find("</g>", view) - view);
        std::string found;
        const std::regex path("<path d=\"[^\"]*\"([^>]*)><title>" + name + "</title>");
        for (auto at = std::sregex_iterator(group.begin(), group.end(), path);
             at != std::sregex_iterator(); ++at)
            found += (*at)[1].str().find("dasharray") == std::string::npos ? "seen " : "hidden ";
        return found;
    };
    EXPECT_EQ(styles("Facing the reference face", "reference face"), "seen ");
    EXPECT_EQ(styles("From behind it", "reference face"), "hidden ");
    EXPECT_EQ(styles("From its side", "reference face"), "hidden seen ");
    c.layout.saws = {saw(Vector3d::UnitX(), 2.5, 0.0)};
    svg = marksSvg(c.marks(request), c.rough.mesh, {"a", "b"});
    EXPECT_EQ(styles("Facing the reference face", "saw 1 middle"), "hidden seen ");
    EXPECT_EQ(styles("From its end", "saw 1 middle"), "seen ");
    // What of the reference face runs inside the stone, along the saw, is dashed.
    EXPECT_EQ(styles("Facing the reference face", "reference face"), "hidden seen ");
}

TEST(MarksSvg, OfTheSampleStoneAndOfSawsAloneIsSound) {
    const Case c = sawnSample();
    const Marks marks = allOf(c);
    const std::string svg = marksSvg(marks, c.rough.mesh, {"Sample", "Layout 1"});
    expectWellFormed(svg);
    EXPECT_THAT(svg, HasSubstr("Saws rolled out"));
    EXPECT_EQ(svg, marksSvg(marks, c.rough.mesh, {"Sample", "Layout 1"}));
    MarkRequest alone;
    alone.stones.clear();
    expectWellFormed(marksSvg(c.marks(alone), c.rough.mesh, {"Sample", "saws"}));
}

TEST(MarksFile, NumbersKnowNoLocaleAndFilesThatCannotBeAreTold) {
    const Case c(octahedronStone(8.0, 1).rough, 3.0);
    const Marks marks = allOf(c);
    const std::string dxf = marksDxf(marks, {"a", "b"});
    const std::string svg = marksSvg(marks, c.rough.mesh, {"a", "b"});
    EXPECT_THROW(writeTextFile("/no/such/folder/marks.dxf", "drawing", dxf), Error);
    bool comma = false;
    for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_BE.UTF-8"})
        comma = comma || std::setlocale(LC_ALL, name) != nullptr;
    if (!comma) GTEST_SKIP() << "no locale with a decimal comma here";
    EXPECT_EQ(marksDxf(marks, {"a", "b"}), dxf);
    EXPECT_EQ(marksSvg(marks, c.rough.mesh, {"a", "b"}), svg);
    std::setlocale(LC_ALL, "C");
}

}  // namespace
