// Saving, autosave and recovery under every fault at every operation: what is opened afterwards is
// the state before or the state after, never anything else.
#include <gtest/gtest.h>

#include "core/archive/draft.h"
#include "core/base/error.h"
#include "tests/core/archive/fault_vfs.h"
#include "tests/core/archive/stones.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using faults::Fault;
using test::smallStone;

constexpr long long kTooMany = 2000;  // operations no small save has

class Crash : public test::InScratchFolder {
  protected:
    void SetUp() override {
        InScratchFolder::SetUp();
        faults::install();
    }
    void TearDown() override {
        faults::disarm();
        InScratchFolder::TearDown();
    }
    static std::string nameIn(const fs::path& file) { return openStoneFile(file).stone.name; }

    fs::path drafts() const { return folder_ / "drafts"; }

    // The name in the only draft left behind.
    std::string nameInDraft() const {
        const auto left = draftsLeftBehind(drafts());
        EXPECT_EQ(left.size(), 1u);
        if (left.size() != 1) return "none";
        EXPECT_EQ(left[0].trouble, "");
        return openDraft(left[0].draft).stone.name;
    }
};

TEST_F(Crash, KilledAtEveryOperationASaveLeavesTheOldOrTheNew) {
    const StoneFile before = smallStone("before");
    const StoneFile after = smallStone("after");
    for (const Fault fault : {Fault::Kill, Fault::PowerLoss}) {
        bool sawOld = false, sawNew = false;
        long long at = 1;
        for (; at < kTooMany; ++at) {
            saveStoneFile(before, file_);
            const bool killed =
                faults::killedIn(fault, at, 1, [&] { saveStoneFile(after, file_); });
            const std::string name = nameIn(file_);
            ASSERT_TRUE(name == "before" || name == "after") << name << " at " << at;
            (name == "before" ? sawOld : sawNew) = true;
            if (!killed) {
                EXPECT_EQ(name, "after");
                break;
            }
        }
        EXPECT_GT(at, 10);
        EXPECT_LT(at, kTooMany);
        RecordProperty("operations_of_a_save", static_cast<int>(at - 1));
        EXPECT_TRUE(sawOld && sawNew);
    }
}

TEST_F(Crash, AFaultAtAnyOperationOfASaveIsToldAndKeepsTheOld) {
    const StoneFile after = smallStone("after");
    for (const Fault fault : {Fault::DiskFull, Fault::WriteError}) {
        for (const bool lasting : {false, true}) {
            for (long long at = 1; at < kTooMany; ++at) {
                saveStoneFile(smallStone("before"), file_);
                bool told = false;
                faults::arm(fault, at, lasting);
                try {
                    saveStoneFile(after, file_);
                } catch (const Error& error) {
                    told = true;
                    EXPECT_EQ(error.code(), ErrorCode::Io) << error.what();
                    if (fault == Fault::DiskFull && at == 1) {
                        EXPECT_NE(error.message().find("full"), std::string::npos);
                    }
                }
                const bool struck = faults::struck();
                faults::disarm();
                ASSERT_EQ(nameIn(file_), told ? "before" : "after") << at;
                ASSERT_EQ(entriesIn(folder_), 1u) << "side files at " << at;
                if (!struck) break;
                ASSERT_LT(at, kTooMany - 1);
            }
        }
    }
}

TEST_F(Crash, AReadErrorIsToldAndTheFileOpensAgainAfterIt) {
    saveStoneFile(smallStone("before"), file_);
    const std::string bytes = test::bytesOf(file_);
    long long at = 1;
    for (; at < kTooMany; ++at) {
        faults::arm(Fault::ReadError, at);
        bool told = false;
        try {
            EXPECT_EQ(nameIn(file_), "before");
        } catch (const Error& error) {
            told = true;
            EXPECT_EQ(error.code(), ErrorCode::Io) << error.what();
        }
        const bool struck = faults::struck();
        faults::disarm();
        EXPECT_EQ(told, struck) << at;
        EXPECT_EQ(nameIn(file_), "before");
        if (!struck) break;
    }
    EXPECT_GT(at, 4);
    EXPECT_EQ(test::bytesOf(file_), bytes);
}

TEST_F(Crash, KilledWhileADraftIsMadeThereIsAWholeOneOrNone) {
    for (const Fault fault : {Fault::Kill, Fault::PowerLoss}) {
        for (long long at = 1; at < kTooMany; ++at) {
            fs::remove_all(drafts());
            const bool killed =
                faults::killedIn(fault, at, 2, [&] { Draft(drafts(), {}, smallStone("drafted")); });
            const auto left = draftsLeftBehind(drafts());
            if (!killed) {
                ASSERT_EQ(left.size(), 1u);
                break;
            }
            ASSERT_LE(left.size(), 1u);
            if (!left.empty()) {
                EXPECT_EQ(left[0].trouble, "");
                EXPECT_EQ(openDraft(left[0].draft).stone.name, "drafted");
            }
            // Nothing else stays in the folder once it has been looked through.
            EXPECT_EQ(entriesIn(drafts()), left.size());
            ASSERT_LT(at, kTooMany - 1);
        }
    }
}

TEST_F(Crash, KilledAtEveryOperationAnAutosaveLeavesTheOldOrTheNew) {
    for (const Fault fault : {Fault::Kill, Fault::PowerLoss}) {
        for (unsigned seed = 1; seed <= (fault == Fault::Kill ? 1u : 3u); ++seed) {
            bool sawOld = false, sawNew = false;
            for (long long at = 1; at < kTooMany; ++at) {
                fs::remove_all(drafts());
                fs::path draft;
                {
                    const Draft made(drafts(), {}, smallStone("before"));
                    draft = made.file();
                }
                const bool killed = faults::killedIn(
                    fault, at, seed, [&] { Draft::adopt(draft)->update(smallStone("after")); });
                const std::string name = nameInDraft();
                ASSERT_TRUE(name == "before" || name == "after") << name << " at " << at;
                (name == "before" ? sawOld : sawNew) = true;
                if (!killed) {
                    EXPECT_EQ(name, "after");
                    RecordProperty("operations_of_an_autosave", static_cast<int>(at - 1));
                    break;
                }
                ASSERT_LT(at, kTooMany - 1);
            }
            EXPECT_TRUE(sawOld && sawNew);
        }
    }
}

TEST_F(Crash, AFaultAtAnyOperationOfAnAutosaveIsToldAndTheNextOneWorks) {
    for (const Fault fault : {Fault::DiskFull, Fault::WriteError, Fault::ReadError}) {
        for (long long at = 1; at < kTooMany; ++at) {
            fs::remove_all(drafts());
            Draft draft(drafts(), {}, smallStone("before"));
            bool told = false;
            faults::arm(fault, at);
            try {
                draft.update(smallStone("after"));
            } catch (const Error&) {
                told = true;
            }
            const bool struck = faults::struck();
            faults::disarm();
            // As another program would find it: a copy, with the journal that may lie beside it.
            const fs::path copy = folder_ / "copy";
            fs::remove_all(copy);
            fs::copy(drafts(), copy);
            const std::string name = openDraft(copy / draft.file().filename()).stone.name;
            ASSERT_TRUE(name == "before" || name == "after") << name;
            if (!told) {
                ASSERT_EQ(name, "after") << at;
            }
            draft.update(smallStone("later"));
            EXPECT_EQ(openStoneFile(draft.file()).stone.name, "later");
            if (!struck) break;
            ASSERT_LT(at, kTooMany - 1);
        }
    }
}

TEST_F(Crash, KilledAtEveryOperationARecoveryCanBeDoneAgain) {
    // Drafts as crashes left them, at each point of an update; most hold a journal to roll back.
    int withJournal = 0, kills = 0;
    for (long long crash = 1; crash < kTooMany; ++crash) {
        fs::remove_all(drafts());
        fs::path draft;
        {
            const Draft made(drafts(), {}, smallStone("before"));
            draft = made.file();
        }
        if (!faults::killedIn(Fault::Kill, crash, 1,
                              [&] { Draft::adopt(draft)->update(smallStone("after")); }))
            break;
        if (!fs::exists(draft.string() + "-journal")) continue;
        ++withJournal;
        const fs::path kept = folder_ / "kept";
        fs::remove_all(kept);
        fs::copy(drafts(), kept);
        for (const Fault fault : {Fault::Kill, Fault::PowerLoss}) {
            for (long long at = 1; at < kTooMany; ++at) {
                fs::remove_all(drafts());
                fs::copy(kept, drafts());
                const bool killed = faults::killedIn(fault, at, 3, [&] {
                    for (const DraftInfo& info : draftsLeftBehind(drafts()))
                        openDraft(info.draft);
                });
                const std::string name = nameInDraft();
                ASSERT_TRUE(name == "before" || name == "after") << name;
                if (!killed) break;
                ++kills;
                ASSERT_LT(at, kTooMany - 1);
            }
        }
    }
    EXPECT_GT(withJournal, 3);
    RecordProperty("crashes_with_a_journal", withJournal);
    RecordProperty("kills_of_a_recovery", kills);
}

}  // namespace
}  // namespace macle
