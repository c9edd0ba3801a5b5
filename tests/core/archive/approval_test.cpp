#include "core/archive/approval.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include "core/base/error.h"
#include "core/base/sha256.h"
#include "tests/core/archive/stones.h"

namespace macle {
namespace {

using test::fullStone;

class ApprovalTest : public test::InScratchFolder {};

TEST_F(ApprovalTest, FreezesTheLayoutAndKnowsWhatItStandsOn) {
    StoneFile content = fullStone();
    content.approvals.push_back(approve(content.stone, content.layouts[0], "A. Planner",
                                        "as discussed", {{"finished_ct", 1.234567}}));
    saveStoneFile(content, file_);
    const StoneFile opened = openStoneFile(file_);
    ASSERT_EQ(opened.approvals.size(), 1u);
    const Approval& approval = opened.approvals[0];
    EXPECT_TRUE(approval.intact);
    EXPECT_EQ(approval.by, "A. Planner");
    EXPECT_EQ(approval.note, "as discussed");
    EXPECT_EQ(approval.layout, content.layouts[0].name);
    EXPECT_EQ(approval.figures.at("finished_ct"), 1.234567);
    EXPECT_EQ(approval.sha256, sha256Hex(approval.snapshot));
    EXPECT_EQ(approvedLayout(approval).main().placement.size_mm,
              content.layouts[0].main().placement.size_mm);
    EXPECT_EQ(layoutState(opened.stone, opened.layouts[0], opened.approvals),
              LayoutState::Approved);
    EXPECT_EQ(layoutState(opened.stone, opened.layouts[1], opened.approvals), LayoutState::Draft);
}

TEST_F(ApprovalTest, AnyChangeOfWhatWasApprovedMakesItADraftAgain) {
    const StoneFile content = fullStone();
    const std::vector<Approval> approvals = {
        approve(content.stone, content.layouts[0], "A. Planner", "", {})};
    const auto state = [&](auto change) {
        StoneFile changed = fullStone();
        change(changed);
        return layoutState(changed.stone, changed.layouts[0], approvals);
    };
    EXPECT_EQ(state([](StoneFile&) {}), LayoutState::Approved);
    EXPECT_EQ(state([](StoneFile& f) { f.layouts[0].main().placement.size_mm += 1e-9; }),
              LayoutState::Draft);
    EXPECT_EQ(state([](StoneFile& f) { f.layouts[0].main().rules.allowance_mm = 0.06; }),
              LayoutState::Draft);
    EXPECT_EQ(state([](StoneFile& f) { f.stone.defects[0].severity = 1; }), LayoutState::Draft);
    EXPECT_EQ(state([](StoneFile& f) { f.stone.rough.mesh.vertices[5].x() += 1e-9; }),
              LayoutState::Draft);
    EXPECT_EQ(state([](StoneFile& f) { f.stone.material.density_g_cm3 = 3.5; }),
              LayoutState::Draft);
    // Another layout may change.
    EXPECT_EQ(state([](StoneFile& f) { f.layouts[1].main().placement.size_mm = 1.0; }),
              LayoutState::Approved);
}

TEST_F(ApprovalTest, ALaterApprovalReplacesTheEarlier) {
    const StoneFile content = fullStone();
    const std::vector<Approval> approvals = {
        approve(content.stone, content.layouts[0], "A", "", {}),
        approve(content.stone, content.layouts[1], "B", "", {})};
    EXPECT_EQ(layoutState(content.stone, content.layouts[0], approvals), LayoutState::Replaced);
    EXPECT_EQ(layoutState(content.stone, content.layouts[1], approvals), LayoutState::Approved);
    EXPECT_STREQ(layoutStateName(LayoutState::Replaced), "replaced");
}

TEST_F(ApprovalTest, TheBookTellsEachApprovalAndFindsTheOneOfALayout) {
    StoneFile content = fullStone();
    std::vector<Approval> approvals = {approve(content.stone, content.layouts[0], "A", "", {})};
    const auto first = content.layouts;
    content.layouts[0].main().placement.size_mm *= 0.5;
    // Nothing is as it was approved: replaced by a draft.
    EXPECT_EQ(ApprovalBook(content.stone, approvals).stateOf(0, content.layouts),
              LayoutState::Replaced);
    EXPECT_EQ(ApprovalBook(content.stone, approvals).stateOf(0, first), LayoutState::Approved);
    approvals.push_back(approve(content.stone, content.layouts[0], "B", "", {}));
    const ApprovalBook book(content.stone, approvals);
    EXPECT_EQ(book.stateOf(0, content.layouts), LayoutState::Replaced);
    EXPECT_EQ(book.stateOf(1, content.layouts), LayoutState::Approved);
    EXPECT_EQ(book.approvalOf(first[0]), 0u);
    EXPECT_EQ(book.approvalOf(content.layouts[0]), 1u);
    EXPECT_EQ(book.approvalOf(content.layouts[1]), std::nullopt);
    EXPECT_EQ(book.state(first[0]), LayoutState::Replaced);
    content.stone.defects[0].severity = 1;
    EXPECT_EQ(ApprovalBook(content.stone, approvals).approvalOf(content.layouts[0]), std::nullopt);
    EXPECT_EQ(ApprovalBook().state(first[0]), LayoutState::Draft);
}

TEST_F(ApprovalTest, AnAlteredSnapshotShowsAndCountsForNothing) {
    const StoneFile content = fullStone();
    const Approval sound =
        approve(content.stone, content.layouts[0], "A. Planner", "", {{"finished_ct", 1.0}});
    std::string altered = sound.snapshot;
    altered.replace(altered.find("A. Planner"), 10, "B. Planner");
    const Approval read = readApproval(altered, sound.sha256);
    EXPECT_FALSE(read.intact);
    EXPECT_EQ(read.by, "B. Planner");
    EXPECT_EQ(layoutState(content.stone, content.layouts[0], {read}), LayoutState::Draft);
    EXPECT_THROW(readApproval("{}", ""), Error);
    EXPECT_THROW(readApproval("[", ""), Error);
    EXPECT_THROW(approve(content.stone, content.layouts[0], "  ", "", {}), Error);
}

}  // namespace
}  // namespace macle
