#include "core/archive/history.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "core/base/error.h"
#include "tests/core/archive/stones.h"

namespace macle {
namespace {

using test::fullStone;

class HistoryTest : public ::testing::Test {
  protected:
    void SetUp() override {
        StoneFile content = fullStone();
        stone_ = std::make_shared<const Stone>(std::move(content.stone));
        layouts_ = content.layouts;
        history_.reset(stone_, layouts_);
    }
    void rename(const std::string& name, int gesture = 0) {
        auto changed = std::make_shared<Stone>(*stone_);
        changed->name = name;
        stone_ = changed;
        history_.record("Rename to " + name, gesture, stone_, layouts_);
    }
    void move(double x, int gesture = 0) {
        layouts_[1].main().placement.translation_mm.x() = x;
        history_.record("Move cut", gesture, stone_, layouts_);
    }
    void take(History::State state) {
        stone_ = std::move(state.stone);
        layouts_ = std::move(state.layouts);
    }

    std::shared_ptr<const Stone> stone_;
    std::vector<Layout> layouts_;
    History history_;
};

TEST_F(HistoryTest, EveryStepGoesBackAndForthToTheLastBit) {
    std::vector<std::pair<std::string, double>> states;
    const auto note = [&] {
        states.emplace_back(stone_->name, layouts_[1].main().placement.translation_mm.x());
    };
    note();
    std::mt19937 random(3);
    for (int i = 0; i < 60; ++i) {
        if (i % 3 == 0)
            rename("stone \"" + std::to_string(i) + "\" \xc3\xa9/~1");
        else
            move(std::uniform_real_distribution<double>(-5, 5)(random));
        note();
    }
    EXPECT_EQ(history_.steps().size(), 60u);
    for (std::size_t i = 60; i > 0; --i) {
        take(history_.undo());
        ASSERT_EQ(stone_->name, states[i - 1].first);
        ASSERT_EQ(layouts_[1].main().placement.translation_mm.x(), states[i - 1].second);
        ASSERT_EQ(stone_->defects.size(), fullStone().stone.defects.size());
    }
    EXPECT_THROW(history_.undo(), Error);
    for (std::size_t i = 1; i <= 60; ++i) {
        take(history_.redo());
        ASSERT_EQ(stone_->name, states[i].first);
        ASSERT_EQ(layouts_[1].main().placement.translation_mm.x(), states[i].second);
    }
    EXPECT_THROW(history_.redo(), Error);
}

TEST_F(HistoryTest, AStepOfALayoutKeepsTheStoneObject) {
    const auto before = stone_;
    move(1.0);
    EXPECT_EQ(history_.undo().stone, before);
    EXPECT_EQ(history_.redo().stone, before);
}

TEST_F(HistoryTest, AGestureIsOneStepAndOneThatComesBackIsNone) {
    for (int i = 1; i <= 30; ++i)
        move(0.1 + i, 7);
    EXPECT_EQ(history_.steps().size(), 1u);
    move(50.0, 8);
    EXPECT_EQ(history_.steps().size(), 2u);
    move(30.1, 8);  // where gesture 8 began
    EXPECT_EQ(history_.steps().size(), 1u);
    take(history_.undo());
    EXPECT_EQ(layouts_[1].main().placement.translation_mm.x(), 0.1);
    move(0.1);
    EXPECT_EQ(history_.done(), 0u);
    EXPECT_EQ(history_.steps().size(), 1u) << "an edit of nothing must not cost the redo";
}

TEST_F(HistoryTest, AnEditAfterUndoForgetsWhatWasTakenBack) {
    rename("a");
    rename("b");
    rename("c");
    take(history_.undo());
    take(history_.undo());
    rename("d");
    ASSERT_EQ(history_.steps().size(), 2u);
    EXPECT_EQ(history_.steps()[1]->name, "Rename to d");
    take(history_.undo());
    EXPECT_EQ(stone_->name, "a");
}

TEST_F(HistoryTest, SurvivesSavingAndOpening) {
    for (int i = 0; i < 5; ++i)
        rename("name " + std::to_string(i));
    take(history_.undo());
    const auto file = std::filesystem::temp_directory_path() /
                      ("macle_history_" + std::to_string(::getpid()) + ".macle");
    StoneFile content{*stone_, layouts_};
    content.history = history_.toRecord();
    saveStoneFile(content, file);
    StoneFile opened = openStoneFile(file);
    std::filesystem::remove(file);
    History again;
    ASSERT_EQ(opened.history.steps.size(), 5u);
    EXPECT_EQ(opened.history.steps[4]->name, "Rename to name 4");
    EXPECT_EQ(opened.history.steps[4]->at_utc.size(), 20u);
    again.reset(std::make_shared<const Stone>(opened.stone), opened.layouts, opened.history);
    EXPECT_EQ(again.redo().stone->name, "name 4");
    for (int i = 0; i < 4; ++i)
        again.undo();
    const auto first = again.undo();
    EXPECT_EQ(first.stone->name, fullStone().stone.name);
    // The mesh of a defect came back through its name on the shelf.
    EXPECT_EQ(std::get<TriangleMesh>(first.stone->defects.back().shape).vertices,
              std::get<TriangleMesh>(fullStone().stone.defects.back().shape).vertices);
    EXPECT_EQ(first.stone->rough.mesh.triangles, fullStone().stone.rough.mesh.triangles);
}

TEST_F(HistoryTest, DropsTheOldestStepsAtTheMemoryCapAndTheirSurfaces) {
    History small(200'000);
    small.reset(stone_, layouts_);
    for (int i = 0; i < 400; ++i) {
        auto changed = std::make_shared<Stone>(*stone_);
        // Each version brings a surface of about 3 kB that only its steps name.
        changed->defects.back().shape = octahedronStone(0.3 + 0.001 * i, 2).rough.mesh;
        stone_ = changed;
        small.record("Step " + std::to_string(i), 0, stone_, layouts_);
        ASSERT_LE(small.bytes(), 210'000u);
    }
    EXPECT_GT(small.dropped(), 300u);
    EXPECT_GT(small.done(), 20u) << "as deep as the cap allows";
    EXPECT_EQ(small.steps().back()->name, "Step 399");
    while (small.done() > 0)
        small.undo();
    while (small.done() < small.steps().size())
        take(small.redo());
    EXPECT_EQ(std::get<TriangleMesh>(stone_->defects.back().shape).vertices,
              octahedronStone(0.3 + 0.399, 2).rough.mesh.vertices);
}

TEST_F(HistoryTest, TenThousandEditsFitAndStayQuick) {
    for (int i = 0; i < 10'000; ++i)
        move(1e-3 * i + 1.0);
    EXPECT_EQ(history_.steps().size(), 10'000u);
    EXPECT_LT(history_.bytes(), std::size_t{16} << 20);
}

TEST_F(HistoryTest, ADamagedStepIsToldAndChangesNothing) {
    const char* patches[] = {
        "not json",
        "[]x",
        R"([{"op":"replace","path":"/stone/name","value":5}])",
        R"([{"op":"remove","path":"/stone"}])",
        R"([{"op":"add","path":"/other","value":1}])",
        R"([{"op":"replace","path":"","value":[]}])",
        R"([{"op":"replace","path":"/layouts","value":[]}])",
        R"([{"op":"replace","path":"/layouts/9/name","value":"x"}])",
        R"([{"op":"replace","path":"/stone/defects/0/severity","value":12}])",
        R"([{"op":"replace","path":"/stone/defects/13/shape/surface","value":"none"}])",
        R"([{"op":"replace","path":"/layouts/0/placement/size_mm","value":-1}])",
        R"([{"op":"test","path":"/stone/name","value":"other"}])",
    };
    std::string deep = R"([{"op":"replace","path":"/stone/name","value":)";
    deep += std::string(100'000, '[') + std::string(100'000, ']') + "}]";
    std::vector<std::string> all(std::begin(patches), std::end(patches));
    all.push_back(deep);
    for (const std::string& patch : all) {
        HistoryRecord record;
        record.steps.push_back(
            std::make_shared<const Step>(Step{"Evil", "2026-01-01T00:00:00Z", patch, patch}));
        record.done = 1;
        History history;
        history.reset(stone_, layouts_, record);
        try {
            history.undo();
            ADD_FAILURE() << patch.substr(0, 80);
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::BadInput);
            EXPECT_THAT(error.message(), testing::HasSubstr("damaged"));
        }
        EXPECT_EQ(history.done(), 1u);
        history.record("Go on", 0, stone_, layouts_);
    }
}

}  // namespace
}  // namespace macle
