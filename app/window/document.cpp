#include "app/window/document.h"

#include <algorithm>
#include <utility>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

namespace macle::app {

bool sameLayout(const Layout& a, const Layout& b) {
    return a.name == b.name && a.cut == b.cut && a.proportions == b.proportions &&
           a.edits == b.edits && a.placement.rotation.coeffs() == b.placement.rotation.coeffs() &&
           a.placement.translation_mm == b.placement.translation_mm &&
           a.placement.size_mm == b.placement.size_mm &&
           a.rules.allowance_mm == b.rules.allowance_mm;
}

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
        designOf(layout);
    // Steps of a file without layouts would not know the one made for it.
    if (fresh) content.history = {};
    stone_ = std::move(content.stone);
    layouts_ = std::move(content.layouts);
    current_ = 0;
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
    current_ = 0;
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
    if (sameLayout(layout(), after)) return;
    designOf(after);
    layouts_[static_cast<std::size_t>(current_)] = after;
    history_.record(name, gesture, stone_, layouts_);
    Q_EMIT layoutChanged();
    Q_EMIT edited();
}

void Document::placeCut(const QString& name, const Placement& placement, int gesture) {
    Layout after = layout();
    after.placement = placement;
    changeLayout(name, after, gesture);
}

void Document::changeProportion(const QString& name, const std::string& key, double value,
                                int gesture) {
    Layout after = layout();
    after.proportions[key] = value;
    changeLayout(name, after, gesture);
}

void Document::changeCut(const std::string& cut) {
    Layout after = layout();
    if (after.cut == cut) return;
    const CutInfo& info = findCut(cut);
    after.cut = cut;
    after.proportions.clear();
    after.edits.clear();
    for (const ProportionInfo& proportion : info.proportions)
        after.proportions[proportion.key] = proportion.standard;
    changeLayout(tr("Change cut to %1").arg(QString::fromStdString(info.title)), after);
}

void Document::changeFacets(const QString& name, const std::vector<FacetEdit>& edits, int gesture) {
    Layout after = layout();
    after.edits = edits;
    (void)designVolume(designOf(after));
    changeLayout(name, after, gesture);
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
    bool layoutsDiffer = state.layouts.size() != layouts_.size();
    for (std::size_t i = 0; i < state.layouts.size() && i < layouts_.size(); ++i)
        if (!sameLayout(state.layouts[i], layouts_[i])) {
            // What changed is what the planner wants to see.
            if (!layoutsDiffer) current_ = static_cast<int>(i);
            layoutsDiffer = true;
        }
    stone_ = std::move(state.stone);
    layouts_ = std::move(state.layouts);
    current_ = std::clamp(current_, 0, std::max(0, static_cast<int>(layouts_.size()) - 1));
    if (stoneDiffers) Q_EMIT stoneChanged();
    if (layoutsDiffer) Q_EMIT layoutChanged();
    Q_EMIT edited();
}

}  // namespace macle::app
