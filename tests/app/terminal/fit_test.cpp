#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "core/appraise/appraisal.h"
#include "core/archive/stone_file.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/stone/volume_defects.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

void write(const std::string& file, const std::string& text) {
    std::ofstream(file, std::ios::binary) << text;
}

TEST(Fit, GivesAPlacementThatFinishFindsInside) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), layout = folder / "layout.json";
    const Outcome fitted = macle({"fit", stone, "--cut", "round", "--table", "53", "--poses",
                                  "3000", "--json", "--out", layout});
    ASSERT_EQ(fitted.status, 0) << fitted.error;
    const auto fit = fitted.json();
    EXPECT_EQ(misfit(fit, "fit"), "");
    EXPECT_EQ(misfit(fit, "placement"), "");
    EXPECT_TRUE(fit["bound_ct"].is_null());
    EXPECT_FALSE(fit["limits"].empty());
    const double rough_ct = macle({"weigh", stone, "--json"}).json()["weight_ct"];
    const double weight = fit["weight_ct"];
    EXPECT_NEAR(fit["recovery_percent"].get<double>(), 100.0 * weight / rough_ct, 1e-6);
    EXPECT_NEAR(fit["loss_ct"].get<double>(), rough_ct - weight, 1e-9);
    EXPECT_GT(fit["recovery_percent"].get<double>(), 30.0);

    // Printed and saved are the same, and either serves as a placement file.
    const std::string printed = folder / "printed.json";
    write(printed, fitted.out);
    for (const std::string& file : {layout, printed}) {
        const auto finish = macle({"finish", stone, "--placement", file, "--json"}).json();
        EXPECT_EQ(misfit(finish, "finish"), "");
        EXPECT_NEAR(finish["weight_ct"].get<double>(), weight, 1e-6);
        EXPECT_NEAR(finish["missing_mm3"].get<double>(), 0.0, 1e-6);
    }
    // The design alone weighs that too.
    const auto shape = macle({"shape", "round", "--table", "53", "--json", "--size",
                              formatExact(fit["size_mm"].get<double>())})
                           .json();
    EXPECT_NEAR(shape["weight_ct"].get<double>(), weight, 1e-6);
}

TEST(Fit, TakesDefectsFromAScannedVolume) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), kept = folder / "kept.macle";
    Volume volume;  // two bright balls in the stone and one outside it
    volume.size = {40, 40, 40};
    volume.step_mm = 0.2 * Eigen::Matrix3d::Identity();
    volume.origin_mm = Eigen::Vector3d::Constant(-3.9);
    for (int k = 0; k < 40; ++k)
        for (int j = 0; j < 40; ++j)
            for (int i = 0; i < 40; ++i) {
                float value = 100.0F;
                for (const Eigen::Vector3d& c :
                     {Eigen::Vector3d(1, 0, 0), Eigen::Vector3d(-1, 0.5, 0),
                      Eigen::Vector3d(2.5, 2.5, 2.5)}) {
                    const double far = (volume.place_mm(Eigen::Vector3d(i, j, k)) - c).norm();
                    value += static_cast<float>(800.0 / (1.0 + std::exp((far - 0.5) / 0.1)));
                }
                volume.values.push_back(value);
            }
    writeVolume(volume, folder / "scan.mha");
    const std::string scan = folder / "scan.mha";
    const Outcome outcome = macle({"fit", stone, "--cut", "round", "--poses", "500", "--json",
                                   "--defects", scan, "--threshold", "500", "--out", kept});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "fit"), "");
    EXPECT_EQ(json["defects_added"]["count"], 2);
    EXPECT_EQ(json["defects_added"]["outside"], 1);
    // The window's own function on the same volume.
    const StoneFile file = openStoneFile(kept);
    VolumeDefectOptions options;
    options.range = {500.0, 1e9};
    options.smallest_mm3 = kSmallestPart_mm3;
    options.within = &file.stone.rough.mesh;
    const VolumeDefects same = defectsFromVolume(volume, options);
    ASSERT_EQ(file.stone.defects.size(), 2u);
    for (std::size_t i = 0; i < 2; ++i)
        EXPECT_NEAR(defectVolume_mm3(file.stone.defects[i]), same.volumes_mm3[i], 1e-9);
    // A narrow range, and parts that are too small.
    const auto added = [&](const char* range, const char* smallest) {
        return macle({"fit", stone, "--cut", "round", "--poses", "300", "--json", "--defects", scan,
                      "--threshold", range, "--smallest", smallest})
            .json()["defects_added"];
    };
    EXPECT_EQ(added("5000", "0")["count"], 0);
    EXPECT_EQ(added("500:1000", "50")["too_small"], 3);
    const auto refused = [&](const std::vector<std::string>& more) {
        std::vector<std::string> call = {"fit", stone, "--cut", "round", "--poses", "300"};
        call.insert(call.end(), more.begin(), more.end());
        const Outcome bad = macle(Call{call, {}, {}, {}});
        EXPECT_EQ(bad.status, 2) << bad.error;
        return bad.error;
    };
    EXPECT_THAT(refused({"--defects", scan}), HasSubstr("--threshold"));
    EXPECT_THAT(refused({"--threshold", "5"}), HasSubstr("volume"));
    EXPECT_THAT(refused({"--defects", scan, "--threshold", "9:5"}), HasSubstr("range"));
    EXPECT_THAT(refused({"--defects", scan, "--threshold", "many"}), HasSubstr("range"));
}

TEST(Fit, EndedByPosesDependsOnInputAndSeedAlone) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0);
    const auto run = [&](const char* threads, const char* seed) {
        auto json = macle({"fit", stone, "--cut", "round", "--poses", "1000", "--threads", threads,
                           "--seed", seed, "--json"})
                        .json();
        json.erase("seconds");
        return json.dump();
    };
    EXPECT_EQ(run("1", "4"), run("2", "4"));
    EXPECT_EQ(run("1", "4"), run("1", "4"));
}

TEST(Fit, TellsOthersWhatHoldsAndWhatClarityCosts) {
    const Folder folder;
    const std::string stone = folder / "stone.macle";
    ASSERT_EQ(macle({"demo", "--out", stone}).status, 0);
    const Outcome fitted = macle({"fit", stone, "--cut", "round", "--poses", "2000", "--others",
                                  "3", "--explain", "0.3", "--clarity", "3", "--json"});
    ASSERT_EQ(fitted.status, 0) << fitted.error;
    const auto fit = fitted.json();
    EXPECT_EQ(misfit(fit, "fit"), "");
    EXPECT_FALSE(fit["others"].empty());
    double shares = 0.0;
    for (const auto& hold : fit["explanation"]["holds"])
        shares += hold["share"].get<double>();
    EXPECT_NEAR(shares, 1.0, 1e-3);
    const auto& curve = fit["clarity_curve"];
    ASSERT_GE(curve.size(), 2u);
    EXPECT_EQ(curve.front()["worst_severity"].get<int>(), 0);
    for (std::size_t i = 1; i < curve.size(); ++i)
        EXPECT_GT(curve[i]["weight_ct"].get<double>(), curve[i - 1]["weight_ct"].get<double>());
    const Outcome text = macle(
        {"fit", stone, "--cut", "round", "--poses", "500", "--explain", "0.2", "--clarity", "1"});
    EXPECT_THAT(text.out, HasSubstr("Held by"));
    EXPECT_THAT(text.out, HasSubstr("planning estimate, not a grading report"));
}

TEST(Fit, ChoosesFreeProportionsWithinTheirRanges) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0);
    const auto pinned = macle({"fit", stone, "--cut", "round", "--poses", "800", "--json"}).json();
    const Outcome freed = macle({"fit", stone, "--cut", "round", "--poses", "800", "--free",
                                 "table,crown=33:36", "--json"});
    ASSERT_EQ(freed.status, 0) << freed.error;
    const auto fit = freed.json();
    EXPECT_EQ(misfit(fit, "fit"), "");
    EXPECT_GT(fit["weight_ct"].get<double>(), pinned["weight_ct"].get<double>());
    EXPECT_GE(fit["proportions"]["crown_deg"].get<double>(), 33.0);
    EXPECT_LE(fit["proportions"]["crown_deg"].get<double>(), 36.0);
    EXPECT_EQ(fit["proportions"]["pavilion_deg"], pinned["proportions"]["pavilion_deg"]);

    for (const char* wrong : {"nonsense", "crown=36:33", "crown=x:y", "crown=33", "crown=1:2", ","})
        EXPECT_EQ(macle({"fit", stone, "--cut", "round", "--free", wrong}).status, 2) << wrong;
}

TEST(Fit, KeepsTheAllowance) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0);
    const auto size = [&](const char* allowance) {
        return macle({"fit", stone, "--cut", "round", "--poses", "1000", "--allowance", allowance,
                      "--json"})
            .json()["size_mm"]
            .get<double>();
    };
    EXPECT_LT(size("0.1"), size("0") - 0.1);
}

TEST(Fit, KeepsOffTheDefectsOfAList) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), defects = folder / "defect.ply";
    // A small octahedron of its own in the middle of the stone.
    const auto free = macle({"fit", stone, "--cut", "round", "--poses", "1000", "--json"}).json();
    {
        const Folder small;
        std::filesystem::copy_file(octahedronFile(small, 0.5, 0), defects);
    }
    const std::string file = folder / "stone.macle";
    const Outcome outcome = macle({"fit", stone, "--cut", "round", "--poses", "1000", "--json",
                                   "--defects", defects, "--out", file});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    EXPECT_LT(outcome.json()["size_mm"].get<double>(), free["size_mm"].get<double>());
    // The appraisal, which knows nothing of the fit, finds the defect gone.
    const StoneFile saved = openStoneFile(file);
    ASSERT_EQ(saved.stone.defects.size(), 1u);
    const Layout& layout = saved.layouts.at(0);
    const RoughCutter cutter(saved.stone.rough);
    const Appraisal appraisal =
        appraise(saved.stone, cutter, makeDesign(layout.main().cut, layout.main().proportions),
                 layout.main().placement);
    EXPECT_TRUE(appraisal.inside);
    EXPECT_TRUE(appraisal.defects.empty());
}

TEST(Fit, SavesIntoAStoneFileWithoutLosingWhatIsThere) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), file = folder / "stone.macle";
    ASSERT_EQ(macle({"fit", stone, "--cut", "round", "--poses", "500", "--out", file}).status, 0);
    ASSERT_EQ(
        macle({"fit", file, "--cut", "round", "--crown", "32", "--poses", "500", "--out", file})
            .status,
        0);
    const StoneFile content = openStoneFile(file);
    ASSERT_EQ(content.layouts.size(), 2u);
    EXPECT_NE(content.layouts[0].name, content.layouts[1].name);
    EXPECT_EQ(content.layouts[1].main().proportions.at("crown_deg"), 32.0);
    // And the layout in it is what finish uses.
    const auto finish =
        macle({"finish", file, "--layout", content.layouts[1].name, "--json"}).json();
    EXPECT_NEAR(finish["missing_mm3"].get<double>(), 0.0, 1e-6);
    EXPECT_EQ(macle({"finish", file, "--layout", "Layout 9"}).status, 2);
}

TEST(Finish, ReportsWhatTheRoughLacks) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), place = folder / "place.json";
    write(place, R"({"quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0, 0]})");
    // Far larger than the rough: all of the rough is left, as one natural all over.
    const auto whole =
        macle({"finish", stone, "--cut", "round", "--size", "60", "--placement", place, "--json"});
    ASSERT_EQ(whole.status, 0) << whole.error;
    const auto json = whole.json();
    EXPECT_EQ(misfit(json, "finish"), "");
    EXPECT_NEAR(json["volume_mm3"].get<double>(), std::sqrt(2.0) / 3.0 * 125.0, 1e-6);
    ASSERT_FALSE(json["naturals"].empty());
    EXPECT_NEAR(json["naturals"][0]["area_mm2"].get<double>(), 2.0 * std::sqrt(3.0) * 25.0, 1e-6);
    // Small and in the middle: nothing missing.
    const auto small =
        macle({"finish", stone, "--cut", "round", "--size", "1", "--placement", place, "--json"})
            .json();
    EXPECT_NEAR(small["missing_mm3"].get<double>(), 0.0, 1e-9);
    EXPECT_TRUE(small["naturals"].empty());
}

TEST(Finish, RefusesPlacementFilesThatSayNothing) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), place = folder / "place.json";
    const std::vector<std::pair<std::string, std::string>> bad = {
        {"", "JSON"},
        {"[]", "JSON"},
        {"{", "JSON"},
        {"{}", "quaternion_wxyz"},
        {R"({"quaternion_wxyz": [1, 0, 0], "translation_mm": [0, 0, 0]})", "quaternion_wxyz"},
        {R"({"quaternion_wxyz": [1, 0, 0, "0"], "translation_mm": [0, 0, 0]})", "quaternion_wxyz"},
        {R"({"quaternion_wxyz": [0, 0, 0, 0], "translation_mm": [0, 0, 0]})", "unit"},
        {R"({"quaternion_wxyz": [2, 0, 0, 0], "translation_mm": [0, 0, 0]})", "unit"},
        {R"({"quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0]})", "translation_mm"},
        {R"({"quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0, 1e999]})", "JSON"},
        {R"({"quaternion_wxyz": [1,0,0,0], "translation_mm": [0,0,0], "size_mm": -1})", "size_mm"},
        {R"({"placement": 3})", "placement"}};
    for (const auto& [text, word] : bad) {
        write(place, text);
        const Outcome outcome = macle(
            {"finish", stone, "--cut", "round", "--size", "3", "--placement", place, "--json"});
        EXPECT_EQ(outcome.status, 1) << text;
        EXPECT_THAT(outcome.error, HasSubstr(word)) << text;
    }
    write(place, R"({"quaternion_wxyz": [1, 0, 0, 0], "translation_mm": [0, 0, 0]})");
    EXPECT_EQ(macle({"finish", stone, "--cut", "round", "--placement", place}).status, 2);
    EXPECT_EQ(macle({"finish", stone, "--size", "3", "--placement", place}).status, 2);
    EXPECT_EQ(macle({"finish", stone, "--cut", "round", "--size", "3"}).status, 2);
}

}  // namespace
}  // namespace macle::test
