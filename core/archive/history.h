// History: the named edits of one stone, each with what takes it back and what does it again.
// A step holds two JSON patches (RFC 6902) between neighbouring states, so it is small, survives
// saving and opening, and needs no code per kind of edit. The oldest steps go when the memory cap
// is reached. Restored states pass the checks of an opened file.
// Thread contract: one thread at a time.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/archive/surface_shelf.h"
#include "core/divide/layout.h"
#include "core/stone/stone.h"

namespace macle {

struct Step {
    std::string name;    // as the planner reads it
    std::string at_utc;  // "2026-11-25T13:02:11Z"
    std::string undo;    // patch to the state before
    std::string redo;    // patch to the state after
};

// The steps of a history as the stone file keeps them.
struct HistoryRecord {
    std::vector<std::shared_ptr<const Step>> steps;  // oldest first
    std::size_t done = 0;                            // steps before this one are in effect
    SurfaceShelf surfaces;                           // those that steps and the state name
};

class History {
  public:
    static constexpr std::size_t kMostBytes = std::size_t{128} << 20;

    explicit History(std::size_t mostBytes = kMostBytes);
    ~History();
    History(const History&) = delete;
    History& operator=(const History&) = delete;

    // Starts anew at this state, with the steps of an opened file where there are some.
    void reset(std::shared_ptr<const Stone> stone, const std::vector<Layout>& layouts,
               HistoryRecord record = {});

    // The state is now this, by an edit of that name. Steps that were taken back are gone then.
    // Edits of the same non-zero gesture in a row make one step, and one that comes back to where
    // it began makes none. An edit that changes nothing makes no step.
    void record(const std::string& name, int gesture, std::shared_ptr<const Stone> stone,
                const std::vector<Layout>& layouts);

    // Moves to the neighbouring state and gives it; the stone object is the same when only layouts
    // differ. Throws Error and changes nothing when the step cannot be used (a damaged file) or
    // when there is none (Error{BadUsage}).
    struct State {
        std::shared_ptr<const Stone> stone;
        std::vector<Layout> layouts;
    };
    State undo();
    State redo();

    const std::vector<std::shared_ptr<const Step>>& steps() const { return record_.steps; }
    std::size_t done() const { return record_.done; }
    std::size_t dropped() const { return dropped_; }  // oldest steps given up for memory
    std::size_t bytes() const { return bytes_; }

    // For saving; shares the steps and surfaces.
    const HistoryRecord& toRecord() const { return record_; }

  private:
    struct Texts;
    State move(std::size_t target, const std::string& patch);
    void forgetRedo();
    void dropOldest();

    std::size_t mostBytes_;
    HistoryRecord record_;
    std::shared_ptr<const Stone> stone_;
    std::unique_ptr<Texts> now_;         // the state as JSON
    std::unique_ptr<Texts> beforeLast_;  // where the last step began, while its gesture goes on
    int gesture_ = 0;                    // of the last step; 0 when it has ended
    std::size_t bytes_ = 0;
    std::size_t dropped_ = 0;
};

std::string utcNow();

}  // namespace macle
