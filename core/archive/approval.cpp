#include "core/archive/approval.h"

#include "core/archive/history.h"
#include "core/archive/state_json.h"
#include "core/base/error.h"
#include "core/base/sha256.h"

namespace macle {
namespace {

using archive::Json;
using defect_json::need;
using defect_json::numberOf;
using defect_json::Place;
using defect_json::textOf;

// What an approval stands on, without the layout.
Json stoneInputs(const Stone& stone) {
    SurfaceShelf unused;
    return {{"rough", SurfaceShelf::nameOf(stone.rough.mesh)},
            {"density_g_cm3", stone.material.density_g_cm3},
            {"stone", archive::stoneJson(stone, unused)}};
}

// Without who, when and the figures.
Json inputs(const Stone& stone, const Layout& layout) {
    Json json = stoneInputs(stone);
    json["layout"] = archive::layoutJson(layout);
    return json;
}

const Json& layoutIn(const Json& snapshot, const Place& place) {
    const Json& inputsThen = need(snapshot, place, "inputs");
    if (!inputsThen.is_object())
        defect_json::reject(place.inside("inputs"), "it must be an object.");
    return need(inputsThen, place, "layout");
}

std::string canonical(const Json& json) {
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Place placeOf() {
    return {"The approval", 0, ""};
}

}  // namespace

Approval approve(const Stone& stone, const Layout& layout, const std::string& by,
                 const std::string& note, const std::map<std::string, double>& figures) {
    if (by.find_first_not_of(" \t") == std::string::npos)
        throw Error(ErrorCode::BadUsage, "An approval needs the name of who approves.",
                    "Enter a name.");
    const Json snapshot = {
        {"approved", {{"by", by}, {"at_utc", utcNow()}, {"note", note}, {"figures", figures}}},
        {"inputs", inputs(stone, layout)}};
    const std::string text = canonical(snapshot);
    return readApproval(text, sha256Hex(text));
}

Approval readApproval(const std::string& snapshot, const std::string& sha256) {
    const Json json = archive::parse(snapshot, "snapshot of an approval");
    const Place place = placeOf();
    defect_json::allowOnly(json, place, {"approved", "inputs"});
    const Json& approved = need(json, place, "approved");
    const Place here = place.inside("approved");
    defect_json::allowOnly(approved, here, {"by", "at_utc", "note", "figures"});
    Approval approval;
    approval.by = textOf(need(approved, here, "by"), here.inside("by"));
    approval.at_utc = textOf(need(approved, here, "at_utc"), here.inside("at_utc"));
    approval.note = textOf(need(approved, here, "note"), here.inside("note"));
    const Json& figures = need(approved, here, "figures");
    if (!figures.is_object()) defect_json::reject(here.inside("figures"), "it must be an object.");
    for (const auto& [key, value] : figures.items())
        approval.figures[key] = numberOf(value, here.inside("figures").inside(key));
    approval.snapshot = snapshot;
    approval.sha256 = sha256;
    approval.intact = sha256Hex(snapshot) == sha256;
    // The library learns of the cut only when the layout is taken back.
    approval.layout = archive::layoutFrom(layoutIn(json, place), place.inside("layout")).name;
    return approval;
}

Layout approvedLayout(const Approval& approval) {
    const Json json = archive::parse(approval.snapshot, "snapshot of an approval");
    const Place place = placeOf();
    const Json& layout = layoutIn(json, place);
    Layout read = archive::layoutFrom(layout, place.inside("layout"));
    archive::learnCutsOf(layout, place.inside("layout"));
    return read;
}

LayoutState layoutState(const Stone& stone, const Layout& layout,
                        const std::vector<Approval>& approvals) {
    return ApprovalBook(stone, approvals).state(layout);
}

ApprovalBook::ApprovalBook(const Stone& stone, const std::vector<Approval>& approvals) {
    if (approvals.empty()) return;
    const Json now = stoneInputs(stone);
    for (const Approval& approval : approvals) {
        Entry entry;
        entry.intact = approval.intact;
        if (approval.intact) {
            Json then = archive::parse(approval.snapshot, "snapshot of an approval").at("inputs");
            entry.layout = canonical(then.at("layout"));
            then.erase("layout");
            entry.ofStone = then == now;
        }
        entries_.push_back(std::move(entry));
    }
}

std::optional<std::size_t> ApprovalBook::approvalOf(const Layout& layout) const {
    if (entries_.empty()) return std::nullopt;
    const std::string now = canonical(archive::layoutJson(layout));
    for (std::size_t i = entries_.size(); i-- > 0;)
        if (entries_[i].intact && entries_[i].ofStone && entries_[i].layout == now) return i;
    return std::nullopt;
}

LayoutState ApprovalBook::state(const Layout& layout) const {
    const std::optional<std::size_t> mine = approvalOf(layout);
    if (!mine) return LayoutState::Draft;
    for (std::size_t i = *mine + 1; i < entries_.size(); ++i)
        if (entries_[i].intact) return LayoutState::Replaced;
    return LayoutState::Approved;
}

LayoutState ApprovalBook::stateOf(std::size_t approval, const std::vector<Layout>& layouts) const {
    if (!entries_.at(approval).intact) return LayoutState::Draft;
    for (const Layout& layout : layouts)
        if (approvalOf(layout) == approval && state(layout) == LayoutState::Approved)
            return LayoutState::Approved;
    return LayoutState::Replaced;
}

const char* layoutStateName(LayoutState state) {
    switch (state) {
        case LayoutState::Draft:
            return "draft";
        case LayoutState::Approved:
            return "approved";
        case LayoutState::Replaced:
            return "replaced";
    }
    return "draft";
}

}  // namespace macle
