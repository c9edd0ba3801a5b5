#include "app/window/job.h"

#include <gtest/gtest.h>

#include <QSignalSpy>
#include <chrono>
#include <thread>

#include "desk.h"

namespace macle::app::test {
namespace {

void pause() {
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
}

TEST(Job, HandsItsResultOverOnTheThreadOfTheWindow) {
    std::thread::id worker;
    std::thread::id receiver;
    int result = 0;
    Job job(
        "Counting",
        [&](Progress& progress) -> Job::HandOver {
            worker = std::this_thread::get_id();
            progress.advanceTo(0.5);
            return [&] {
                receiver = std::this_thread::get_id();
                result = 42;
            };
        },
        nullptr);
    QSignalSpy finished(&job, &Job::finished);
    QSignalSpy progressed(&job, &Job::progressed);
    job.start();
    ASSERT_TRUE(waitFor([&] { return finished.count() == 1; }));
    EXPECT_EQ(result, 42);
    EXPECT_EQ(receiver, std::this_thread::get_id());
    EXPECT_NE(worker, receiver);
    EXPECT_GE(progressed.count(), 1);
}

TEST(Job, TellsAnErrorOnceAndHandsNothingOver) {
    Job job(
        "Failing",
        [](Progress&) -> Job::HandOver {
            throw Error(ErrorCode::BadInput, "It is broken.", "Mend it.");
        },
        nullptr);
    int failures = 0;
    QObject::connect(&job, &Job::failed, [&](const Error& e) {
        ++failures;
        EXPECT_EQ(e.message(), "It is broken.");
    });
    QSignalSpy finished(&job, &Job::finished);
    job.start();
    ASSERT_TRUE(waitFor([&] { return failures == 1; }));
    EXPECT_EQ(finished.count(), 0);
}

TEST(Job, CancelledEndsWithoutAResultAndWithoutAnError) {
    bool handedOver = false;
    Job job(
        "Endless",
        [&](Progress& progress) -> Job::HandOver {
            while (!progress.cancelled())
                pause();
            return [&] { handedOver = true; };
        },
        nullptr);
    QSignalSpy finished(&job, &Job::finished);
    job.start();
    job.cancel();
    ASSERT_TRUE(waitFor([&] { return finished.count() == 1; }));
    EXPECT_FALSE(handedOver);
}

TEST(Job, CanBeDestroyedWhileItRuns) {
    bool handedOver = false;
    {
        Job job(
            "Endless",
            [&](Progress& progress) -> Job::HandOver {
                while (!progress.cancelled())
                    pause();
                progress.throwIfCancelled();
                return [&] { handedOver = true; };
            },
            nullptr);
        job.start();
    }
    EXPECT_FALSE(waitFor([&] { return handedOver; }, 30));
}

TEST(Job, AnUnforeseenExceptionBecomesAnErrorWithARemedy) {
    Job job(
        "Failing", [](Progress&) -> Job::HandOver { throw std::runtime_error("odd"); }, nullptr);
    std::string remedy;
    QObject::connect(&job, &Job::failed, [&](const Error& e) { remedy = e.remedy(); });
    job.start();
    ASSERT_TRUE(waitFor([&] { return !remedy.empty(); }));
}

}  // namespace
}  // namespace macle::app::test
