#include "app/window/document.h"

#include <QUndoCommand>
#include <utility>

#include "core/base/error.h"
#include "core/cut/library.h"

namespace macle::app {

struct Document::StoneFacts {
    std::string name;
    std::optional<double> scale_ct;
    std::vector<Defect> defects;
    std::vector<DefectCluster> clusters;
};

bool sameLayout(const Layout& a, const Layout& b) {
    return a.name == b.name && a.cut == b.cut && a.proportions == b.proportions &&
           a.placement.rotation.coeffs() == b.placement.rotation.coeffs() &&
           a.placement.translation_mm == b.placement.translation_mm &&
           a.placement.size_mm == b.placement.size_mm &&
           a.rules.allowance_mm == b.rules.allowance_mm;
}

class LayoutEdit : public QUndoCommand {
  public:
    LayoutEdit(Document& document, const QString& name, int index, Layout before, Layout after,
               int gesture)
        : QUndoCommand(name),
          document_(document),
          index_(index),
          before_(std::move(before)),
          after_(std::move(after)),
          gesture_(gesture) {}

    void undo() override { document_.setLayout(index_, before_); }
    void redo() override { document_.setLayout(index_, after_); }
    int id() const override { return gesture_ == 0 ? -1 : 1; }

    bool mergeWith(const QUndoCommand* other) override {
        const auto* next = static_cast<const LayoutEdit*>(other);
        if (next->gesture_ != gesture_ || next->index_ != index_) return false;
        after_ = next->after_;
        setObsolete(sameLayout(before_, after_));
        return true;
    }

  private:
    Document& document_;
    int index_;
    Layout before_;
    Layout after_;
    int gesture_;
};

class StoneEdit : public QUndoCommand {
  public:
    StoneEdit(Document& document, const QString& name, Document::StoneFacts before,
              Document::StoneFacts after)
        : QUndoCommand(name),
          document_(document),
          before_(std::move(before)),
          after_(std::move(after)) {}

    void undo() override { document_.setFacts(before_); }
    void redo() override { document_.setFacts(after_); }

  private:
    Document& document_;
    Document::StoneFacts before_;
    Document::StoneFacts after_;
};

Document::Document(QObject* parent) : QObject(parent) {
    connect(&history_, &QUndoStack::cleanChanged, this,
            [this] { Q_EMIT modifiedChanged(isModified()); });
}

Document::~Document() {
    // The stack reports its own clearing; nobody must hear it from a dying document.
    history_.disconnect(this);
}

const Layout& Document::layout() const {
    require(isOpen() && current_ < static_cast<int>(layouts_.size()),
            "a stone with a layout is open");
    return layouts_[static_cast<std::size_t>(current_)];
}

void Document::reset(std::shared_ptr<const Stone> stone, std::vector<Layout> layouts,
                     std::filesystem::path path) {
    if (layouts.empty()) layouts.emplace_back();
    for (const Layout& layout : layouts)
        makeDesign(layout.cut, layout.proportions);
    stone_ = std::move(stone);
    layouts_ = std::move(layouts);
    current_ = 0;
    ++roughNumber_;
    path_ = std::move(path);
    neverSaved_ = path_.empty();
    history_.clear();
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
    history_.clear();
    Q_EMIT opened();
    Q_EMIT pathChanged();
    Q_EMIT modifiedChanged(false);
}

void Document::save(const std::filesystem::path& path) {
    require(isOpen(), "a stone is open");
    saveStoneFile(StoneFile{*stone_, layouts_}, path);
    path_ = path;
    neverSaved_ = false;
    history_.setClean();
    Q_EMIT pathChanged();
    Q_EMIT modifiedChanged(false);
}

bool Document::isModified() const {
    return isOpen() && (neverSaved_ || !history_.isClean());
}

void Document::changeLayout(const QString& name, const Layout& after, int gesture) {
    if (sameLayout(layout(), after)) return;
    makeDesign(after.cut, after.proportions);
    history_.push(new LayoutEdit(*this, name, current_, layout(), after, gesture));
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
    for (const ProportionInfo& proportion : info.proportions)
        after.proportions[proportion.key] = proportion.standard;
    changeLayout(tr("Change cut to %1").arg(QString::fromStdString(info.title)), after);
}

void Document::changeDefects(const QString& name, std::vector<Defect> defects,
                             std::vector<DefectCluster> clusters) {
    StoneFacts after = facts();
    after.defects = std::move(defects);
    after.clusters = std::move(clusters);
    pushFacts(name, std::move(after));
}

void Document::changeScaleWeight(std::optional<double> scale_ct) {
    if (stone_->scale_ct == scale_ct) return;
    StoneFacts after = facts();
    after.scale_ct = scale_ct;
    pushFacts(tr("Scale weight"), std::move(after));
}

void Document::renameStone(const std::string& name) {
    if (name.empty() || stone_->name == name) return;
    StoneFacts after = facts();
    after.name = name;
    pushFacts(tr("Rename stone"), std::move(after));
}

void Document::pushFacts(const QString& name, StoneFacts after) {
    history_.push(new StoneEdit(*this, name, facts(), std::move(after)));
}

Document::StoneFacts Document::facts() const {
    return {stone_->name, stone_->scale_ct, stone_->defects, stone_->clusters};
}

void Document::setFacts(const StoneFacts& facts) {
    auto stone = std::make_shared<Stone>(*stone_);
    stone->name = facts.name;
    stone->scale_ct = facts.scale_ct;
    stone->defects = facts.defects;
    stone->clusters = facts.clusters;
    stone_ = std::move(stone);
    Q_EMIT stoneChanged();
}

void Document::setLayout(int index, const Layout& layout) {
    layouts_[static_cast<std::size_t>(index)] = layout;
    current_ = index;
    Q_EMIT layoutChanged();
}

}  // namespace macle::app
