#include "app/window/document.h"

#include <algorithm>
#include <cctype>
#include <utility>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

namespace macle::app {
namespace {

void checkDesigns(const Layout& layout) {
    for (const PlannedStone& stone : layout.stones)
        designOf(stone);
}

// The name, or with the first number that makes it another one.
std::string unlikeOthers(std::string name, const std::vector<Layout>& others) {
    const auto taken = [&](const std::string& one) {
        return std::any_of(others.begin(), others.end(),
                           [&](const Layout& other) { return other.name == one; });
    };
    if (!taken(name)) return name;
    while (!name.empty() && (std::isdigit(static_cast<unsigned char>(name.back())) != 0))
        name.pop_back();
    if (!name.empty() && name.back() != ' ') name += ' ';
    int number = 2;
    while (taken(name + std::to_string(number)))
        ++number;
    return name + std::to_string(number);
}

// The first stone that differs; 0 where the saws alone do.
int changedStone(const Layout& before, const Layout& after) {
    for (std::size_t i = 0; i < after.stones.size(); ++i)
        if (i >= before.stones.size() || before.stones[i] != after.stones[i])
            return static_cast<int>(i);
    return 0;
}

}  // namespace

Document::Document(QObject* parent)
    : QObject(parent), history_([this](History::State state) { apply(std::move(state)); }) {
    connect(&history_, &EditHistory::cleanChanged, this,
            [this] { Q_EMIT modifiedChanged(isModified()); });
}

Document::~Document() {
    // Nobody must hear a dying document.
    history_.disconnect(this);
}

const Layout& Document::layout() const {
    require(isOpen() && current_ < static_cast<int>(layouts_.size()),
            "a stone with a layout is open");
    return layouts_[static_cast<std::size_t>(current_)];
}

const PlannedStone& Document::planned() const {
    return layout().stones.at(static_cast<std::size_t>(stoneIndex_));
}

void Document::chooseLayout(int index) {
    if (index == current_ || index < 0 || index >= static_cast<int>(layouts_.size())) return;
    current_ = index;
    stoneIndex_ = 0;
    Q_EMIT layoutChanged();
}

void Document::chooseStone(int index) {
    if (index == stoneIndex_ || index < 0 || index >= static_cast<int>(layout().stones.size()))
        return;
    stoneIndex_ = index;
    Q_EMIT layoutChanged();
}

void Document::reset(std::shared_ptr<const Stone> stone, std::vector<Layout> layouts,
                     std::filesystem::path path) {
    Content content;
    content.stone = std::move(stone);
    content.layouts = std::move(layouts);
    content.path = std::move(path);
    reset(std::move(content));
}

void Document::reset(Content content) {
    const bool fresh = content.layouts.empty();
    if (fresh) content.layouts.emplace_back();
    for (const Layout& layout : content.layouts)
        checkDesigns(layout);
    // Steps of a file without layouts would not know the one made for it.
    if (fresh) content.history = {};
    stone_ = std::move(content.stone);
    layouts_ = std::move(content.layouts);
    current_ = stoneIndex_ = 0;
    ++roughNumber_;
    path_ = std::move(content.path);
    neverSaved_ = path_.empty() || content.recovered;
    approvals_ = std::move(content.approvals);
    bookStone_.reset();
    approvalsSaved_ = true;
    notes_ = std::move(content.notes);
    lock_ = std::move(content.lock);
    history_.reset(stone_, layouts_, std::move(content.history));
    Q_EMIT opened();
    Q_EMIT pathChanged();
    Q_EMIT modifiedChanged(isModified());
}

void Document::close() {
    stone_.reset();
    layouts_.clear();
    current_ = stoneIndex_ = 0;
    ++roughNumber_;
    path_.clear();
    neverSaved_ = false;
    approvals_.clear();
    bookStone_.reset();
    approvalsSaved_ = true;
    notes_ = {};
    lock_.release();
    history_.reset(nullptr, {}, {});
    Q_EMIT opened();
    Q_EMIT pathChanged();
    Q_EMIT modifiedChanged(false);
}

void Document::save(const std::filesystem::path& path) {
    require(isOpen(), "a stone is open");
    OpenLock lock;
    std::error_code fault;
    const bool ours = lock_.held() && std::filesystem::equivalent(path, path_, fault);
    if (!ours && std::filesystem::exists(path, fault) && !lock.take(path))
        throw Error(
            ErrorCode::Io,
            path.string() + " is open in " + OpenLock::holderOf(path) + ", so it was not replaced.",
            "Close it there, or save under another name.");
    StoneFile content{*stone_, layouts_};
    content.history = history_.steps().toRecord();
    content.approvals = approvals_;
    saveStoneFile(content, path);
    // The file of that name is another one now.
    lock_.release();
    lock_.take(path);
    path_ = path;
    notes_ = {};
    neverSaved_ = false;
    approvalsSaved_ = true;
    history_.setClean();
    Q_EMIT saved();
    Q_EMIT pathChanged();
    Q_EMIT modifiedChanged(false);
}

bool Document::isModified() const {
    return isOpen() && (neverSaved_ || !approvalsSaved_ || !history_.isClean());
}

void Document::approveLayout(const std::string& by, const std::string& note,
                             const std::map<std::string, double>& figures) {
    approvals_.push_back(approve(*stone_, layout(), by, note, figures));
    approvalsSaved_ = false;
    Q_EMIT approved();
    Q_EMIT modifiedChanged(true);
    Q_EMIT edited();
}

const ApprovalBook& Document::approvalBook() const {
    require(isOpen(), "a stone is open");
    if (bookStone_ != stone_ || bookCount_ != approvals_.size()) {
        book_ = ApprovalBook(*stone_, approvals_);
        bookStone_ = stone_;
        bookCount_ = approvals_.size();
    }
    return book_;
}

void Document::changeLayout(const QString& name, const Layout& after, int gesture) {
    if (layout() == after) return;
    checkDesigns(after);
    layouts_[static_cast<std::size_t>(current_)] = after;
    stoneIndex_ = std::min(stoneIndex_, static_cast<int>(after.stones.size()) - 1);
    history_.record(name, gesture, stone_, layouts_);
    Q_EMIT layoutChanged();
    Q_EMIT edited();
}

void Document::changePlanned(const QString& name, const PlannedStone& planned, int gesture) {
    Layout after = layout();
    after.stones[static_cast<std::size_t>(stoneIndex_)] = planned;
    changeLayout(name, after, gesture);
}

void Document::addLayout(const QString& name, Layout layout) {
    checkDesigns(layout);
    layout.name = unlikeOthers(layout.name, layouts_);
    current_ = isOpen() && !layouts_.empty() ? current_ + 1 : 0;
    stoneIndex_ = 0;
    layouts_.insert(layouts_.begin() + current_, std::move(layout));
    history_.record(name, 0, stone_, layouts_);
    Q_EMIT layoutsChanged();
    Q_EMIT layoutChanged();
    Q_EMIT edited();
}

void Document::removeLayout(int index) {
    if (layouts_.size() < 2)
        throw Error(ErrorCode::BadUsage, "The last layout of a stone stays.",
                    "Add another one first.");
    const Layout gone = layouts_.at(static_cast<std::size_t>(index));
    layouts_.erase(layouts_.begin() + index);
    if (current_ == index) stoneIndex_ = 0;
    if (current_ > index || current_ == static_cast<int>(layouts_.size())) --current_;
    history_.record(tr("Remove %1").arg(QString::fromStdString(gone.name)), 0, stone_, layouts_);
    Q_EMIT layoutsChanged();
    Q_EMIT layoutChanged();
    Q_EMIT edited();
}

void Document::renameLayout(int index, const std::string& name) {
    Layout& layout = layouts_.at(static_cast<std::size_t>(index));
    if (layout.name == name) return;
    const auto same = [&](const Layout& other) { return other.name == name; };
    if (name.find_first_not_of(" \t") == std::string::npos ||
        std::any_of(layouts_.begin(), layouts_.end(), same))
        throw Error(ErrorCode::BadUsage,
                    "A layout needs a name, and no other layout of the stone may have it.",
                    "Enter another name.");
    layout.name = name;
    history_.record(tr("Rename layout"), 0, stone_, layouts_);
    Q_EMIT layoutsChanged();
    Q_EMIT layoutChanged();
    Q_EMIT edited();
}

void Document::placeCut(const QString& name, const Placement& placement, int gesture) {
    PlannedStone after = planned();
    after.placement = placement;
    changePlanned(name, after, gesture);
}

void Document::changeProportion(const QString& name, const std::string& key, double value,
                                int gesture) {
    PlannedStone after = planned();
    after.proportions[key] = value;
    changePlanned(name, after, gesture);
}

void Document::changeCut(const std::string& cut) {
    PlannedStone after = planned();
    if (after.cut == cut) return;
    const CutInfo& info = findCut(cut);
    after.cut = cut;
    after.proportions.clear();
    after.edits.clear();
    for (const ProportionInfo& proportion : info.proportions)
        after.proportions[proportion.key] = proportion.standard;
    changePlanned(tr("Change cut to %1").arg(QString::fromStdString(info.title)), after);
}

void Document::changeFacets(const QString& name, const std::vector<FacetEdit>& edits, int gesture) {
    PlannedStone after = planned();
    after.edits = edits;
    (void)designVolume(designOf(after));
    changePlanned(name, after, gesture);
}

void Document::changeDefects(const QString& name, std::vector<Defect> defects,
                             std::vector<DefectCluster> clusters) {
    Stone changed = *stone_;
    changed.defects = std::move(defects);
    changed.clusters = std::move(clusters);
    changeStone(name, std::move(changed));
}

void Document::changeScaleWeight(std::optional<double> scale_ct) {
    if (stone_->scale_ct == scale_ct) return;
    Stone changed = *stone_;
    changed.scale_ct = scale_ct;
    changeStone(tr("Scale weight"), std::move(changed));
}

void Document::changeTrusted(TrustedWeight trusted) {
    if (stone_->trusted == trusted) return;
    Stone changed = *stone_;
    changed.trusted = trusted;
    changeStone(trusted == TrustedWeight::Scale ? tr("Trust the scale") : tr("Trust the scan"),
                std::move(changed));
}

void Document::changeAxes(const QString& name, std::optional<CrystalAxes> axes) {
    Stone changed = *stone_;
    changed.axes = std::move(axes);
    changeStone(name, std::move(changed));
}

void Document::changeColour(ColourRecord colour) {
    check(colour);
    Stone changed = *stone_;
    changed.colour = std::move(colour);
    changeStone(tr("Colour and fluorescence"), std::move(changed));
}

void Document::renameStone(const std::string& name) {
    if (name.empty() || stone_->name == name) return;
    Stone changed = *stone_;
    changed.name = name;
    changeStone(tr("Rename stone"), std::move(changed));
}

void Document::changeStone(const QString& name, Stone changed) {
    stone_ = std::make_shared<const Stone>(std::move(changed));
    history_.record(name, 0, stone_, layouts_);
    Q_EMIT stoneChanged();
    Q_EMIT edited();
}

void Document::apply(History::State state) {
    const bool stoneDiffers = state.stone != stone_;
    bool layoutsDiffer = false;
    // What changed is what the planner wants to see.
    for (std::size_t i = 0; i < state.layouts.size() && !layoutsDiffer; ++i)
        if (i >= layouts_.size() || state.layouts[i] != layouts_[i]) {
            current_ = static_cast<int>(i);
            stoneIndex_ = i < layouts_.size() ? changedStone(layouts_[i], state.layouts[i]) : 0;
            layoutsDiffer = true;
        }
    layoutsDiffer |= state.layouts.size() != layouts_.size();
    stone_ = std::move(state.stone);
    layouts_ = std::move(state.layouts);
    current_ = std::clamp(current_, 0, std::max(0, static_cast<int>(layouts_.size()) - 1));
    if (layouts_.empty())
        stoneIndex_ = 0;
    else
        stoneIndex_ = std::clamp(stoneIndex_, 0, static_cast<int>(layout().stones.size()) - 1);
    if (layoutsDiffer) Q_EMIT layoutsChanged();
    if (stoneDiffers) Q_EMIT stoneChanged();
    if (layoutsDiffer) Q_EMIT layoutChanged();
    Q_EMIT edited();
}

}  // namespace macle::app
