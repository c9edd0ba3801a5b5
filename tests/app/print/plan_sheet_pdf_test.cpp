// The sheet is read back by another program (pdftotext, pdfinfo of poppler-utils) and compared
// with the content it was made from.
#include "app/print/plan_sheet_pdf.h"
#include "app/print/plan_sheet_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <sstream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"

namespace macle::app {
namespace {

using ::testing::HasSubstr;

struct Written {
    PlanSheet sheet;
    std::filesystem::path folder;
    std::filesystem::path file;
    ~Written() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
};

PlanSheet sampleSheet() {
    Stone stone = sampleStone(8000);
    Layout layout;
    layout.name = "Layout 3";
    Placement& placement = layout.main().placement;
    placement.rotation = Eigen::AngleAxisd(0.3, Eigen::Vector3d::UnitX());
    placement.translation_mm = bounds(stone.rough.mesh).centre();
    placement.size_mm = 4.0;
    SheetRequest request;
    request.date = "2026-01-31";
    const RoughCutter cutter(stone.rough);
    PlanSheet sheet = makePlanSheet(stone, cutter, layout, request);
    sheet.stones[0].limits = {{{1.25, -2.5, 3.75}, "pavilion main 3", "skin"}};
    return sheet;
}

std::string outputOf(const std::string& command) {
    std::string text;
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    if (!pipe) return text;
    std::array<char, 4096> buffer{};
    while (const std::size_t got = fread(buffer.data(), 1, buffer.size(), pipe.get()))
        text.append(buffer.data(), got);
    return text;
}

bool havePoppler() {
    return outputOf("pdftotext -v 2>&1").find("pdftotext") != std::string::npos;
}

class PlanSheetPdf : public ::testing::Test {
  protected:
    void SetUp() override {
        if (!havePoppler()) GTEST_SKIP() << "pdftotext is not installed";
        std::string pattern =
            (std::filesystem::temp_directory_path() / "macle_sheet_XXXXXX").string();
        ASSERT_NE(mkdtemp(pattern.data()), nullptr);
        written_.folder = pattern;
        written_.file = written_.folder / "sheet.pdf";
        written_.sheet = sampleSheet();
        writePlanSheetPdf(written_.sheet, written_.file);
    }
    // Pages, each as text laid out like the paper.
    std::vector<std::string> pages() const {
        std::istringstream text(outputOf("pdftotext -layout '" + written_.file.string() + "' -"));
        std::vector<std::string> list;
        for (std::string page; std::getline(text, page, '\f');)
            list.push_back(page);
        return list;
    }
    Written written_;
};

TEST_F(PlanSheetPdf, HasThePagesItCounts) {
    const std::string info = outputOf("pdfinfo '" + written_.file.string() + "'");
    EXPECT_THAT(info, HasSubstr("A4"));
    EXPECT_EQ(pages().size(), static_cast<std::size_t>(planSheetPages(written_.sheet)));
    EXPECT_LE(pages().size(), 8u);
}

TEST_F(PlanSheetPdf, EveryPageCarriesIdentityStateAndNumber) {
    const auto all = pages();
    for (std::size_t i = 0; i < all.size(); ++i) {
        EXPECT_THAT(all[i], HasSubstr(written_.sheet.hash));
        EXPECT_THAT(all[i], HasSubstr("DRAFT"));
        EXPECT_THAT(all[i], HasSubstr("not approved"));
        EXPECT_THAT(all[i], HasSubstr("page " + std::to_string(i + 1) + " of " +
                                      std::to_string(all.size())));
        EXPECT_THAT(all[i], HasSubstr("Layout 3"));
    }
}

TEST_F(PlanSheetPdf, AnApprovedSheetSaysSoOnEveryPageAndByWhom) {
    written_.sheet.state = {"approved", "A. Planner", "2026-01-31T09:00:00Z", "as discussed",
                            std::string(64, 'c')};
    writePlanSheetPdf(written_.sheet, written_.file);
    for (const std::string& page : pages()) {
        EXPECT_THAT(page, HasSubstr("APPROVED"));
        EXPECT_EQ(page.find("do not cut"), std::string::npos);
    }
    const std::string raw = outputOf("pdftotext -raw '" + written_.file.string() + "' -");
    for (const char* words :
         {"A. Planner", "2026-01-31T09:00:00Z", "as discussed", "cccccccccccc", "Signature"})
        EXPECT_THAT(raw, HasSubstr(words));
    written_.sheet.state.state = "replaced";
    writePlanSheetPdf(written_.sheet, written_.file);
    for (const std::string& page : pages()) {
        EXPECT_THAT(page, HasSubstr("REPLACED"));
        EXPECT_THAT(page, HasSubstr("do not cut"));
    }
}

TEST_F(PlanSheetPdf, SaysWhatTheContentSays) {
    std::string all;
    for (const std::string& page : pages())
        all += page;
    EXPECT_THAT(all, HasSubstr(written_.sheet.stoneName));
    EXPECT_THAT(all, HasSubstr("2026-01-31"));
    EXPECT_THAT(all, HasSubstr("planning estimates, not a grading report"));
    EXPECT_THAT(all, HasSubstr("pavilion main 3"));
    for (const auto* list : {&written_.sheet.figures, &written_.sheet.stones[0].figures,
                             &written_.sheet.stones[0].proportions})
        for (const auto& [label, value] : *list) {
            EXPECT_THAT(all, HasSubstr(label));
            EXPECT_THAT(all, HasSubstr(value)) << label;
        }
    for (const SheetView& view : written_.sheet.stones[0].views) {
        EXPECT_THAT(all, HasSubstr(view.title));
        EXPECT_THAT(all, HasSubstr(formatFixed(view.width_mm, 3))) << view.title;
    }
    // Wrapped text: compare without the breaks.
    const auto words = [](const std::string& text) {
        std::string packed;
        for (const char c : text)
            if (!std::isspace(static_cast<unsigned char>(c))) packed.push_back(c);
        return packed;
    };
    const std::string raw = words(outputOf("pdftotext -raw '" + written_.file.string() + "' -"));
    std::vector<std::string> texts = written_.sheet.stones[0].referenceFace;
    EXPECT_GE(texts.size(), 7u);
    texts.push_back(written_.sheet.stones[0].appraisal.clarity);
    texts.insert(texts.end(), written_.sheet.cautions.begin(), written_.sheet.cautions.end());
    for (const SheetStep& step : written_.sheet.steps) {
        texts.push_back(step.step.what);
        texts.push_back(step.step.title + " " + formatFixed(step.step.entering_ct, 3) + " " +
                        formatFixed(step.step.removed_ct, 3) + " " +
                        formatFixed(step.step.left_ct, 3));
        for (const FacetWork& work : step.step.facets)
            texts.push_back(work.facet + " " + formatFixed(work.angle_deg, 2) + " " +
                            (work.count > 1 ? "all round" : formatFixed(work.azimuth_deg, 2)) +
                            " " + formatFixed(work.depth_mm, 3));
    }
    for (const std::string& text : texts)
        EXPECT_NE(raw.find(words(text)), std::string::npos) << text;
}

TEST_F(PlanSheetPdf, TheFacetTableIsThatOfTheContent) {
    std::istringstream text(outputOf("pdftotext -raw '" + written_.file.string() + "' -"));
    std::vector<std::string> lines;
    for (std::string line; std::getline(text, line);)
        lines.push_back(line);
    for (const FacetRow& row : written_.sheet.stones[0].facets) {
        const std::string azimuth = row.count > 1 ? "all round" : formatFixed(row.azimuth_deg, 2);
        const std::string wanted =
            std::to_string(row.step) + " " + row.facet + " " + formatFixed(row.angle_deg, 2) + " " +
            azimuth + " " + formatFixed(row.centre_mm, 3) + " " + formatFixed(row.fromTable_mm, 3);
        EXPECT_THAT(lines, ::testing::Contains(wanted));
    }
}

TEST_F(PlanSheetPdf, NothingIsCutShort) {
    for (const std::string& page : pages())
        EXPECT_EQ(page.find("\u2026"), std::string::npos) << page;
}

TEST_F(PlanSheetPdf, EveryFontIsEmbedded) {
    std::istringstream fonts(outputOf("pdffonts '" + written_.file.string() + "'"));
    std::string line;
    std::getline(fonts, line);
    const std::size_t column = line.find("emb");
    ASSERT_NE(column, std::string::npos);
    std::getline(fonts, line);
    int count = 0;
    while (std::getline(fonts, line)) {
        EXPECT_EQ(line.substr(column, 3), "yes") << line;
        ++count;
    }
    EXPECT_GT(count, 0);
}

TEST_F(PlanSheetPdf, SaysWhyNothingStopsTheFit) {
    written_.sheet.stones[0].limits.clear();
    for (const bool inside : {true, false}) {
        written_.sheet.stones[0].appraisal.inside = inside;
        writePlanSheetPdf(written_.sheet, written_.file);
        std::string all;
        for (const std::string& page : pages())
            all += page;
        EXPECT_EQ(all.find("Nothing touches") != std::string::npos, inside);
        EXPECT_EQ(all.find("reaches beyond the rough") != std::string::npos, !inside);
    }
}

TEST_F(PlanSheetPdf, ManyDefectsAndLimitsAreCutShortInTheTables) {
    for (int i = 0; i < 200; ++i) {
        DefectInside defect;
        defect.name = "pinpoint " + std::to_string(i);
        defect.kind = "pinpoint";
        defect.zone = "in the pavilion";
        written_.sheet.stones[0].appraisal.defects.push_back(defect);
        written_.sheet.stones[0].limits.push_back(
            {{0, 0, 0}, "girdle " + std::to_string(i), "skin"});
    }
    writePlanSheetPdf(written_.sheet, written_.file);
    EXPECT_LE(pages().size(), 9u);
    const std::string raw = outputOf("pdftotext -raw '" + written_.file.string() + "' -");
    EXPECT_THAT(raw, HasSubstr("and 188 more"));
    EXPECT_THAT(raw, HasSubstr("Signature"));
}

TEST_F(PlanSheetPdf, AFolderThatIsNotThereIsAnError) {
    try {
        writePlanSheetPdf(written_.sheet, written_.folder / "nowhere" / "sheet.pdf");
        FAIL() << "no error";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::Io);
        EXPECT_THAT(error.message(), HasSubstr("nowhere"));
    }
}

TEST_F(PlanSheetPdf, AnEndlessNameDoesNotBreakThePage) {
    written_.sheet.stoneName = std::string(500, 'W');
    writePlanSheetPdf(written_.sheet, written_.file);
    EXPECT_LE(pages().size(), 9u);
}

TEST_F(PlanSheetPdf, AnEndlessWordIsBrokenAtTheMargin) {
    written_.sheet.cautions.push_back(std::string(500, 'W'));
    writePlanSheetPdf(written_.sheet, written_.file);
    std::istringstream boxes(outputOf("pdftotext -bbox '" + written_.file.string() + "' -"));
    constexpr double kRightMargin_pt = (195.0 + 1.0) / 25.4 * 72.0;  // a millimetre for rounding
    std::size_t letters = 0;
    for (std::string line; std::getline(boxes, line);) {
        const auto from = line.find(">WWW");
        if (from == std::string::npos) continue;
        letters += static_cast<std::size_t>(std::count(line.begin(), line.end(), 'W'));
        EXPECT_LT(std::stod(line.substr(line.find("xMax=") + 6)), kRightMargin_pt) << line;
    }
    EXPECT_EQ(letters, 500u);
}

}  // namespace
}  // namespace macle::app
