#include "core/archive/draft.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "core/base/error.h"
#include "tests/core/archive/stones.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using test::smallStone;

class DraftTest : public test::InScratchFolder {
  protected:
    fs::path drafts() const { return folder_ / "state" / "drafts"; }
    std::vector<DraftInfo> left() const { return draftsLeftBehind(drafts()); }
};

TEST_F(DraftTest, KeepsTheWorkOfAStoneNeverSaved) {
    {
        Draft draft(drafts(), {}, smallStone("from a scan"));
        EXPECT_TRUE(left().empty()) << "a draft in use is not left behind";
        draft.update(smallStone("edited"));
    }  // the program ends without having saved
    const auto found = left();
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].stoneName, "edited");
    EXPECT_TRUE(found[0].of.file.empty());
    EXPECT_EQ(found[0].changed_utc.size(), 20u);
    EXPECT_EQ(found[0].trouble, "");
    EXPECT_EQ(openDraft(found[0].draft).stone.name, "edited");
    EXPECT_EQ(left().size(), 1u) << "looking and opening keep it";
}

TEST_F(DraftTest, KnowsItsFileAndBothTimesAndNeverTouchesIt) {
    saveStoneFile(smallStone("saved"), file_);
    const std::string before = test::bytesOf(file_);
    const DraftOf of = draftOf(file_);
    EXPECT_FALSE(of.saved_utc.empty());
    { Draft(drafts(), of, smallStone("saved")).update(smallStone("edited")); }
    const auto found = left();
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].of.file, file_);
    EXPECT_EQ(found[0].of.saved_utc, of.saved_utc);
    EXPECT_FALSE(found[0].fileChangedSince);
    discardDraft(found[0].draft);
    EXPECT_TRUE(left().empty());
    EXPECT_EQ(test::bytesOf(file_), before);
}

TEST_F(DraftTest, SaysWhenTheFileWasSavedAgainSinceThen) {
    saveStoneFile(smallStone("saved"), file_);
    { Draft(drafts(), draftOf(file_), smallStone("edited")); }
    saveStoneFile(smallStone("saved by another"), file_);
    ASSERT_EQ(left().size(), 1u);
    EXPECT_TRUE(left()[0].fileChangedSince);
    fs::remove(file_);
    ASSERT_EQ(left().size(), 1u);
    EXPECT_TRUE(left()[0].fileChangedSince);
}

TEST_F(DraftTest, OneThatHoldsNothingNewIsTidiedAway) {
    saveStoneFile(smallStone("same"), file_);
    { Draft(drafts(), draftOf(file_), openStoneFile(file_)); }
    EXPECT_TRUE(left().empty());
    EXPECT_EQ(entriesIn(drafts()), 0u);
}

TEST_F(DraftTest, IsAdoptedOnceAndGoneWhenTheWorkIsSaved) {
    { Draft(drafts(), {}, smallStone("lost")); }
    const fs::path name = left()[0].draft;
    const auto adopted = Draft::adopt(name);
    EXPECT_TRUE(left().empty());
    EXPECT_THROW(Draft::adopt(name), Error);
    StoneFile more = openDraft(name);
    more.stone.name = "went on";
    more.approvals.push_back(approve(more.stone, more.layouts[0], "A", "", {}));
    adopted->update(more);
    more.stone.name = "and on";
    adopted->update(more);
    EXPECT_EQ(openStoneFile(name).stone.name, "and on");
    EXPECT_EQ(openStoneFile(name).approvals.size(), 1u);
    adopted->remove();
    EXPECT_EQ(entriesIn(drafts()), 0u);
    adopted->update(more);  // late work of a background thread finds nothing to do
    EXPECT_EQ(entriesIn(drafts()), 0u);
}

TEST_F(DraftTest, TheHistoryGoesAlongWithEachUpdate) {
    StoneFile content = smallStone("start");
    History history;
    auto stone = std::make_shared<const Stone>(content.stone);
    history.reset(stone, content.layouts);
    Draft draft(drafts(), {}, content);
    const auto edit = [&](const std::string& name) {
        auto changed = std::make_shared<Stone>(*stone);
        changed->name = name;
        stone = changed;
        history.record("Rename", 0, stone, content.layouts);
    };
    const auto update = [&] {
        content.stone = *stone;
        content.history = history.toRecord();
        draft.update(content);
        const StoneFile stored = openStoneFile(draft.file());
        ASSERT_EQ(stored.stone.name, stone->name);
        ASSERT_EQ(stored.history.steps.size(), history.steps().size());
        ASSERT_EQ(stored.history.done, history.done());
        for (std::size_t i = 0; i < history.steps().size(); ++i)
            ASSERT_EQ(stored.history.steps[i]->redo, history.steps()[i]->redo);
    };
    for (int i = 0; i < 5; ++i) {
        edit("name " + std::to_string(i));
        update();
    }
    stone = history.undo().stone;
    stone = history.undo().stone;
    update();
    edit("another way");
    update();
}

TEST_F(DraftTest, ADamagedDraftIsToldAndKept) {
    { Draft(drafts(), {}, smallStone("x")); }
    const fs::path name = left()[0].draft;
    test::putBytes(name, "no database at all, but long enough to be looked at as one ........");
    ASSERT_EQ(left().size(), 1u);
    EXPECT_THAT(left()[0].trouble, ::testing::HasSubstr("damaged"));
    EXPECT_TRUE(fs::exists(name));
    test::putBytes(drafts() / "notes.txt", "not ours");
    EXPECT_EQ(left().size(), 1u);
    EXPECT_TRUE(fs::exists(drafts() / "notes.txt"));
}

TEST_F(DraftTest, AFolderThatCannotBeMadeIsTold) {
    test::putBytes(folder_ / "state", "in the way");
    EXPECT_THROW(Draft(drafts(), {}, smallStone("x")), Error);
    EXPECT_TRUE(draftsLeftBehind(drafts()).empty());
}

TEST_F(DraftTest, TheFolderFollowsTheDesktopsRules) {
    ::setenv("MACLE_DRAFTS", "/somewhere/else", 1);
    EXPECT_EQ(draftsFolder(), "/somewhere/else");
    ::unsetenv("MACLE_DRAFTS");
    ::setenv("XDG_STATE_HOME", "/state", 1);
    EXPECT_EQ(draftsFolder(), "/state/macle/drafts");
    ::unsetenv("XDG_STATE_HOME");
    ::setenv("HOME", "/home/nobody", 1);
    EXPECT_EQ(draftsFolder(), "/home/nobody/.local/state/macle/drafts");
}

}  // namespace
}  // namespace macle
