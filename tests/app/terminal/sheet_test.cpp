// macle sheet: its JSON and CSV against each other, against core and against the other verbs.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>

#include "core/appraise/whole_layout.h"
#include "core/archive/layout_file.h"
#include "core/archive/stone_file.h"
#include "core/base/csv.h"
#include "core/bench/facet_rows.h"
#include "core/bench/layout_hash.h"
#include "core/bench/reference_face.h"
#include "core/stone/sample.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using Json = nlohmann::json;

// 57 facets of a round without a culet, and the 64 flats of its girdle.
constexpr std::size_t kFacetsOfTheRound = 57 + 64;
constexpr double kSum_ct = 1e-9;  // rounding of a few dozen weights

std::string textOf(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

// An octahedron sawn through its middle, a round in either half, and its sheet as data.
struct TwoStones {
    Folder folder;
    std::string file = folder / "stone.macle";
    StoneFile content;
    Outcome outcome;
    Json sheet;
    std::vector<CsvRow> rows;

    TwoStones() {
        content.stone = octahedronStone(8.0);
        content.stone.name = "#2, \"sawn\"";
        Layout layout;
        layout.name = "Halves, both round";
        layout.saws.push_back({});
        layout.saws[0].normal = Eigen::Vector3d::UnitX();
        layout.saws[0].kerf_mm = 0.08;
        layout.main().placement.size_mm = 2.5;
        layout.main().placement.translation_mm = {-1.5, 0.1, 0.2};
        layout.stones.push_back(layout.main());
        layout.stones[1].piece = 1;
        layout.stones[1].placement.size_mm = 2.25;
        layout.stones[1].placement.translation_mm = {1.6, 0.0, -0.1};
        content.layouts = {layout};
        saveStoneFile(content, file);
        outcome = macle({"sheet", file, "--out", folder / "s.pdf", "--csv", folder / "s.csv",
                         "--json-file", folder / "s.json", "--date", "2026-01-31", "--json"});
        if (outcome.status != 0) throw std::runtime_error(outcome.error);
        sheet = Json::parse(textOf(folder / "s.json"));
        rows = parseCsv(textOf(folder / "s.csv"), "s.csv").rows;
    }
    const Layout& layout() const { return content.layouts.front(); }
};

const TwoStones& twoStones() {
    static const TwoStones made;
    return made;
}

double number(const Json& value) {
    return value.get<double>();
}

TEST(Sheet, DataFitTheSchemaAndSayWhatTheTerminalSays) {
    const TwoStones& two = twoStones();
    EXPECT_EQ(misfit(two.sheet, "plan_sheet"), "");
    const Json said = two.outcome.json();
    EXPECT_EQ(misfit(said, "sheet"), "");
    EXPECT_EQ(two.sheet["hash"], said["hash"]);
    EXPECT_EQ(two.sheet["hash"], layoutHash(two.content.stone, two.layout()));
    EXPECT_EQ(two.sheet["finished_ct"], said["weight_ct"]);
    EXPECT_EQ(two.sheet["recovery_percent"], said["recovery_percent"]);
    EXPECT_EQ(two.sheet["loss_ct"], said["loss_ct"]);
    EXPECT_EQ(two.sheet["date"], "2026-01-31");
    Json broken = two.sheet;
    broken["hash"] = "0";
    EXPECT_NE(misfit(broken, "plan_sheet"), "");
    broken = two.sheet;
    broken["stones"][1].erase("reference_face");
    EXPECT_NE(misfit(broken, "plan_sheet"), "");
}

TEST(Sheet, WeightsAreThoseOfCoreAndOfFinish) {
    const TwoStones& two = twoStones();
    const RoughCutter cutter(two.content.stone.rough);
    const WholeLayout whole = weighWhole(two.content.stone, cutter, two.layout());
    ASSERT_EQ(two.sheet["stones"].size(), 2u);
    ASSERT_EQ(two.sheet["saws"].size(), 1u);
    EXPECT_EQ(number(two.sheet["rough_ct"]), whole.rough_ct);
    EXPECT_EQ(number(two.sheet["kerf_ct"]), whole.kerf_ct);
    EXPECT_GT(whole.kerf_ct, 0.0);
    double finished = 0.0;
    for (std::size_t i = 0; i < 2; ++i) {
        const double sheet_ct = number(two.sheet["stones"][i]["finished_ct"]);
        EXPECT_EQ(sheet_ct, whole.stones[i].weight.finished_ct);
        finished += sheet_ct;
        const Outcome alone =
            macle({"finish", two.file, "--stone", std::to_string(i + 1), "--json"});
        ASSERT_EQ(alone.status, 0) << alone.error;
        EXPECT_NEAR(sheet_ct, number(alone.json()["weight_ct"]), kSum_ct) << i;
    }
    EXPECT_NEAR(number(two.sheet["finished_ct"]), finished, kSum_ct);
}

TEST(Sheet, StepsTakeOffWhatTheRoughLoses) {
    const Json& sheet = twoStones().sheet;
    double removed = 0.0;
    for (std::size_t s = 0; s < sheet["steps"].size(); ++s) {
        const Json& step = sheet["steps"][s];
        EXPECT_EQ(step["number"], s + 1);
        EXPECT_GE(number(step["removed_ct"]), 0.0);
        EXPECT_NEAR(number(step["entering_ct"]) - number(step["removed_ct"]),
                    number(step["left_ct"]), kSum_ct)
            << step["title"];
        removed += number(step["removed_ct"]);
    }
    // A piece laid aside would be taken off by no step; here each gives a stone.
    EXPECT_NEAR(number(sheet["left_over_ct"]), 0.0, kSum_ct);
    EXPECT_NEAR(removed, number(sheet["rough_ct"]) - number(sheet["finished_ct"]), kSum_ct);
    EXPECT_NEAR(
        number(sheet["loss_ct"]),
        number(sheet["outside_ct"]) + number(sheet["kerf_ct"]) + number(sheet["left_over_ct"]),
        kSum_ct);
}

TEST(Sheet, EveryFacetAndEveryReferenceFaceStandsInTheData) {
    const TwoStones& two = twoStones();
    const RoughCutter cutter(two.content.stone.rough);
    const Division division = divide(two.content.stone.rough, cutter, two.layout().saws);
    for (std::size_t i = 0; i < 2; ++i) {
        const Json& stone = two.sheet["stones"][i];
        const PlannedStone& planned = two.layout().stones[i];
        const Design design = designOf(planned);
        const std::vector<FacetRow> rows =
            facetRows(design, planned.placement.size_mm, facetGroups(design));
        ASSERT_EQ(stone["facets"].size(), rows.size());
        std::size_t names = 0;
        for (std::size_t r = 0; r < rows.size(); ++r) {
            const Json& facet = stone["facets"][r];
            EXPECT_EQ(facet["facet"], rows[r].facet);
            EXPECT_EQ(number(facet["angle_deg"]), rows[r].angle_deg);
            EXPECT_EQ(number(facet["azimuth_deg"]), rows[r].azimuth_deg);
            EXPECT_EQ(number(facet["centre_mm"]), rows[r].centre_mm);
            EXPECT_EQ(number(facet["from_table_mm"]), rows[r].fromTable_mm);
            names += static_cast<std::size_t>(facet["count"].get<int>());
        }
        EXPECT_EQ(names, kFacetsOfTheRound);
        // Each facet is worked in some step of its stone.
        std::size_t worked = 0;
        for (const Json& step : two.sheet["steps"])
            if (step["stone"] == i + 1)
                for (const Json& work : step["facets"])
                    worked += static_cast<std::size_t>(work["count"].get<int>());
        EXPECT_GE(worked, kFacetsOfTheRound);
        const auto told = stone["reference_face"].get<std::vector<std::string>>();
        for (const std::string& line : referenceFaceWords(
                 referenceFaceOf(two.content.stone.rough.mesh, two.layout(), division, i)))
            EXPECT_THAT(told, ::testing::Contains(line));
    }
}

// The rows of one thing, found by part, stone, step and name.
class CsvFigures {
  public:
    CsvFigures(const std::vector<CsvRow>& rows, std::vector<std::string> where)
        : rows_(rows), where_(std::move(where)) {}

    std::vector<std::string> all(const std::string& figure) const {
        std::vector<std::string> values;
        for (const CsvRow& row : rows_)
            if (row.cells.size() == 7 &&
                std::equal(where_.begin(), where_.end(), row.cells.begin()) &&
                row.cells[4] == figure)
                values.push_back(row.cells[5]);
        return values;
    }
    void expect(const std::string& figure, const Json& value) const {
        const std::vector<std::string> found = all(figure);
        ASSERT_EQ(found.size(), 1u) << where_[0] << " " << where_[3] << " " << figure;
        if (value.is_string())
            EXPECT_EQ(found[0], value.get<std::string>());
        else
            EXPECT_EQ(std::strtod(found[0].c_str(), nullptr), number(value)) << figure;
    }

  private:
    const std::vector<CsvRow>& rows_;
    std::vector<std::string> where_;
};

TEST(Sheet, EachRowOfTheCsvSaysWhatTheJsonSays) {
    const TwoStones& two = twoStones();
    const Json& sheet = two.sheet;
    ASSERT_GT(two.rows.size(), 1u);
    EXPECT_THAT(two.rows[0].cells,
                ::testing::ElementsAre("part", "stone", "step", "name", "figure", "value", "unit"));
    std::size_t facets = 0, works = 0, steps = 0, cautions = 0;
    for (const CsvRow& row : two.rows) {
        ASSERT_EQ(row.cells.size(), 7u) << "line " << row.line;
        if (row.cells[4] == "angle") ++(row.cells[2].empty() ? facets : works);
        if (row.cells[0] == "step" && row.cells[4] == "what") ++steps;
        if (row.cells[0] == "caution") ++cautions;
    }
    EXPECT_EQ(steps, sheet["steps"].size());
    EXPECT_EQ(cautions, sheet["cautions"].size());

    const CsvFigures whole(two.rows, {"sheet", "", "", sheet["stone"].get<std::string>()});
    whole.expect("sha256", sheet["hash"]);
    whole.expect("layout", sheet["layout"]);
    whole.expect("rough", sheet["rough_ct"]);
    whole.expect("finished", sheet["finished_ct"]);
    whole.expect("loss", sheet["loss_ct"]);
    whole.expect("off the pieces", sheet["outside_ct"]);
    whole.expect("kerfs", sheet["kerf_ct"]);
    whole.expect("laid aside", sheet["left_over_ct"]);
    whole.expect("recovery", sheet["recovery_percent"]);
    const CsvFigures saw(two.rows, {"saw", "", "", "saw 1"});
    saw.expect("offset", sheet["saws"][0]["offset_mm"]);
    saw.expect("kerf width", sheet["saws"][0]["kerf_mm"]);
    saw.expect("kerf", sheet["saws"][0]["kerf_ct"]);
    saw.expect("normal z", sheet["saws"][0]["normal"][2]);

    std::size_t expectedFacets = 0, expectedWorks = 0;
    for (std::size_t i = 0; i < sheet["stones"].size(); ++i) {
        const Json& stone = sheet["stones"][i];
        const std::string index = std::to_string(i + 1);
        const CsvFigures figures(two.rows, {"stone", index, "", stone["name"].get<std::string>()});
        figures.expect("size", stone["size_mm"]);
        figures.expect("piece weight", stone["piece_ct"]);
        figures.expect("finished", stone["finished_ct"]);
        figures.expect("loss", stone["loss_ct"]);
        figures.expect("clarity", stone["clarity"]);
        EXPECT_EQ(figures.all("reference face"),
                  stone["reference_face"].get<std::vector<std::string>>());
        for (const Json& facet : stone["facets"]) {
            const CsvFigures row(two.rows, {"facet", index, "", facet["facet"].get<std::string>()});
            row.expect("place", facet["place"]);
            row.expect("count", facet["count"]);
            row.expect("angle", facet["angle_deg"]);
            row.expect("azimuth", facet["azimuth_deg"]);
            row.expect("centre", facet["centre_mm"]);
            row.expect("from table", facet["from_table_mm"]);
            ++expectedFacets;
        }
    }
    for (const Json& step : sheet["steps"]) {
        const std::string index =
            step["stone"].is_null() ? "" : std::to_string(step["stone"].get<int>());
        const std::string place = std::to_string(step["number"].get<int>());
        const CsvFigures figures(two.rows,
                                 {"step", index, place, step["title"].get<std::string>()});
        figures.expect("what", step["what"]);
        figures.expect("entering", step["entering_ct"]);
        figures.expect("removed", step["removed_ct"]);
        figures.expect("left", step["left_ct"]);
        EXPECT_EQ(figures.all("caution"), step["cautions"].get<std::vector<std::string>>());
        for (const Json& work : step["facets"]) {
            const CsvFigures row(two.rows,
                                 {"facet", index, place, work["facet"].get<std::string>()});
            row.expect("angle", work["angle_deg"]);
            row.expect("azimuth", work["azimuth_deg"]);
            row.expect("depth", work["depth_mm"]);
            ++expectedWorks;
        }
    }
    EXPECT_EQ(facets, expectedFacets);
    EXPECT_EQ(works, expectedWorks);
}

TEST(Sheet, OfALayoutFromAListIsThatOfTheStoneFile) {
    TwoStones two;
    const std::string list = two.folder / "layouts.json";
    writeLayouts(two.content.layouts, list);
    const std::string bare = two.folder / "bare.macle";
    StoneFile without = two.content;
    without.layouts.clear();
    saveStoneFile(without, bare);
    const std::string name = two.content.layouts.front().name;
    const Outcome outcome = macle({"sheet", bare, "--layouts", list, "--layout", name, "--out",
                                   two.folder / "again.json", "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const Json again = Json::parse(textOf(two.folder / "again.json"));
    EXPECT_EQ(again["hash"], two.sheet["hash"]);
    EXPECT_EQ(again["stones"].size(), 2u);

    // A placement is one stone: what more the file holds is not dropped unsaid.
    std::ofstream(two.folder / "one.json") << Json::parse(textOf(list))["layouts"][0].dump();
    for (const std::string& file : {list, two.folder / "one.json"}) {
        const Outcome refused =
            macle({"sheet", bare, "--placement", file, "--out", two.folder / "no.pdf"});
        EXPECT_NE(refused.status, 0) << file;
        EXPECT_THAT(refused.error, testing::HasSubstr("more than one placement")) << file;
        EXPECT_THAT(refused.error, testing::HasSubstr("--layouts")) << file;
    }
}

}  // namespace
}  // namespace macle::test
