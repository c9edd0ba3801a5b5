#include "core/archive/history.h"

#include <array>
#include <ctime>
#include <set>
#include <utility>

#include "core/archive/state_json.h"
#include "core/base/error.h"

namespace macle {

using archive::Json;

struct History::Texts {
    Json state;  // {"stone": ..., "layouts": ...}
};

namespace {

// Without the names of the fields that did not change, a patch is as short as the edit.
std::string patchBetween(const Json& from, const Json& to) {
    return Json::diff(from, to).dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::size_t bytesOf(const Step& step) {
    return sizeof(Step) + step.name.size() + step.undo.size() + step.redo.size();
}

// Every text of the JSON that could be the name of a surface.
void collectNames(const Json& json, std::set<std::string>& names) {
    if (json.is_string()) {
        const auto& text = json.get_ref<const std::string&>();
        if (text.size() == 64) names.insert(text);
        return;
    }
    if (json.is_structured())
        for (const Json& item : json)
            collectNames(item, names);
}

}  // namespace

std::string utcNow() {
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    gmtime_r(&now, &parts);
    std::array<char, 32> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &parts);
    return text.data();
}

History::History(std::size_t mostBytes) : mostBytes_(mostBytes), now_(std::make_unique<Texts>()) {}

History::~History() = default;

void History::reset(std::shared_ptr<const Stone> stone, const std::vector<Layout>& layouts,
                    HistoryRecord record) {
    require(record.done <= record.steps.size(), "the place in the history is one of its steps");
    stone_ = std::move(stone);
    record_ = std::move(record);
    beforeLast_.reset();
    gesture_ = 0;
    bytes_ = 0;
    dropped_ = 0;
    now_->state = Json::object();
    if (!stone_) return;
    now_->state = {{"stone", archive::stoneJson(*stone_, record_.surfaces)},
                   {"layouts", archive::layoutsJson(layouts)}};
    for (const auto& step : record_.steps)
        bytes_ += bytesOf(*step);
    for (const auto& [name, surface] : record_.surfaces.all())
        bytes_ += SurfaceShelf::bytes(*surface);
}

void History::record(const std::string& name, int gesture, std::shared_ptr<const Stone> stone,
                     const std::vector<Layout>& layouts) {
    require(stone_ && stone, "a stone is open");
    Json after;
    const std::size_t surfacesBefore = record_.surfaces.all().size();
    after["stone"] =
        stone == stone_ ? now_->state.at("stone") : archive::stoneJson(*stone, record_.surfaces);
    after["layouts"] = archive::layoutsJson(layouts);
    stone_ = std::move(stone);
    if (record_.surfaces.all().size() != surfacesBefore) {
        bytes_ = 0;
        for (const auto& step : record_.steps)
            bytes_ += bytesOf(*step);
        for (const auto& [surfaceName, surface] : record_.surfaces.all())
            bytes_ += SurfaceShelf::bytes(*surface);
    }

    const bool goesOn = gesture != 0 && gesture == gesture_ && beforeLast_ &&
                        record_.done == record_.steps.size() && record_.done > 0;
    if (goesOn) {
        bytes_ -= bytesOf(*record_.steps.back());
        record_.steps.pop_back();
        --record_.done;
    } else {
        if (after == now_->state) return;
        forgetRedo();
        beforeLast_ = std::make_unique<Texts>(*now_);
    }
    gesture_ = gesture;
    now_->state = std::move(after);
    if (now_->state == beforeLast_->state) {
        // Back where the gesture began; going on from here begins a step anew.
        gesture_ = 0;
        beforeLast_.reset();
        return;
    }
    record_.steps.push_back(std::make_shared<const Step>(
        Step{name, utcNow(), patchBetween(now_->state, beforeLast_->state),
             patchBetween(beforeLast_->state, now_->state)}));
    bytes_ += bytesOf(*record_.steps.back());
    ++record_.done;
    if (gesture == 0) beforeLast_.reset();
    dropOldest();
}

History::State History::undo() {
    if (record_.done == 0)
        throw Error(ErrorCode::BadUsage, "There is nothing to undo.", "Go on from here.");
    return move(record_.done - 1, record_.steps[record_.done - 1]->undo);
}

History::State History::redo() {
    if (record_.done == record_.steps.size())
        throw Error(ErrorCode::BadUsage, "There is nothing to redo.", "Go on from here.");
    return move(record_.done + 1, record_.steps[record_.done]->redo);
}

History::State History::move(std::size_t target, const std::string& patch) {
    State state;
    Json after;
    try {
        after = now_->state.patch(archive::parse(patch, "step of the history"));
        // Nothing but the two known parts may come out of a patch.
        if (after.size() != 2) throw Error(ErrorCode::BadInput, "It has other parts.", "");
        state.layouts = archive::layoutsFrom(after.at("layouts"), "The step");
        if (state.layouts.empty() && !now_->state.at("layouts").empty())
            throw Error(ErrorCode::BadInput, "It has no layout.", "");
        if (after.at("stone") == now_->state.at("stone")) {
            state.stone = stone_;
        } else {
            auto stone = std::make_shared<Stone>(*stone_);
            archive::readStone(after.at("stone"), record_.surfaces, *stone);
            state.stone = std::move(stone);
        }
    } catch (const Json::exception& fault) {
        throw Error(ErrorCode::BadInput,
                    std::string("This step of the history is damaged (") + fault.what() + ").",
                    "The stone stays as it is; go on from here.");
    } catch (const Error& fault) {
        throw Error(ErrorCode::BadInput, "This step of the history is damaged. " + fault.message(),
                    "The stone stays as it is; go on from here.");
    }
    now_->state = std::move(after);
    stone_ = state.stone;
    record_.done = target;
    gesture_ = 0;
    beforeLast_.reset();
    return state;
}

void History::forgetRedo() {
    while (record_.steps.size() > record_.done) {
        bytes_ -= bytesOf(*record_.steps.back());
        record_.steps.pop_back();
    }
}

void History::dropOldest() {
    if (bytes_ <= mostBytes_) return;
    // A quarter at a time, so that not every edit at the cap looks for unused surfaces. The latest
    // step stays whatever its size.
    std::size_t wanted = mostBytes_ - mostBytes_ / 4;
    std::size_t gone = 0;
    std::size_t stepBytes = 0;
    for (const auto& step : record_.steps)
        stepBytes += bytesOf(*step);
    while (gone + 1 < record_.done) {
        // Surfaces that only dropped steps name go with them.
        std::set<std::string> named;
        collectNames(now_->state, named);
        for (std::size_t i = gone; i < record_.steps.size(); ++i) {
            collectNames(Json::parse(record_.steps[i]->undo), named);
            collectNames(Json::parse(record_.steps[i]->redo), named);
        }
        std::size_t surfaceBytes = 0;
        std::vector<std::string> unused;
        for (const auto& [name, surface] : record_.surfaces.all()) {
            if (named.contains(name))
                surfaceBytes += SurfaceShelf::bytes(*surface);
            else
                unused.push_back(name);
        }
        for (const std::string& name : unused)
            record_.surfaces.drop(name);
        bytes_ = stepBytes + surfaceBytes;
        if (bytes_ <= wanted) break;
        // An eighth of what is left, at least one.
        const std::size_t upTo = std::min(record_.done - 1, gone + 1 + (record_.done - gone) / 8);
        for (; gone < upTo; ++gone)
            stepBytes -= bytesOf(*record_.steps[gone]);
    }
    record_.steps.erase(record_.steps.begin(),
                        record_.steps.begin() + static_cast<std::ptrdiff_t>(gone));
    record_.done -= gone;
    dropped_ += gone;
}

}  // namespace macle
