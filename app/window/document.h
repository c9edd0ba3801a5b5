// Document: the open stone with its layouts, every change of it named and undoable.
// The stone is shared as an immutable object, so that background work may keep the version it
// started with. A change that core would refuse throws Error and leaves everything as it was.
// Thread contract: GUI thread.
#pragma once

#include <QObject>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "app/window/edit_history.h"
#include "core/archive/open_lock.h"
#include "core/archive/stone_file.h"

namespace macle::app {

class Document : public QObject {
    Q_OBJECT
  public:
    explicit Document(QObject* parent = nullptr);
    ~Document() override;

    bool isOpen() const { return stone_ != nullptr; }
    const std::shared_ptr<const Stone>& stone() const { return stone_; }
    // Changes when another rough is opened; equal numbers mean the same rough mesh.
    int roughNumber() const { return roughNumber_; }

    const std::vector<Layout>& layouts() const { return layouts_; }
    int currentLayout() const { return current_; }
    const Layout& layout() const;
    int currentStone() const { return stoneIndex_; }  // of the current layout
    const PlannedStone& planned() const;              // that stone

    // What is looked at and worked on; no edit.
    void chooseLayout(int index);
    void chooseStone(int index);

    // Everything that is opened at once. `path` is empty when the content has no stone file.
    struct Content {
        std::shared_ptr<const Stone> stone;
        std::vector<Layout> layouts;
        std::filesystem::path path;
        HistoryRecord history;
        std::vector<Approval> approvals;
        FileNotes notes;
        OpenLock lock;           // of the file; not held when it is only looked at
        bool recovered = false;  // from a draft: not saved yet
    };
    void reset(Content content);
    void reset(std::shared_ptr<const Stone> stone, std::vector<Layout> layouts,
               std::filesystem::path path);
    void close();

    const std::filesystem::path& path() const { return path_; }
    // Why saving under the present name would be refused; empty when it would not.
    const std::string& readOnlyWhy() const { return notes_.why; }
    const FileNotes& notes() const { return notes_; }
    // Throws Error, also when another program has that file open; nothing is lost then.
    void save(const std::filesystem::path& path);
    bool isModified() const;
    bool neverSaved() const { return neverSaved_; }
    OpenLock giveUpLock() { return std::move(lock_); }  // to the one who opens the file again

    const std::vector<Approval>& approvals() const { return approvals_; }
    // Freezes the current layout as approved. Not undone: a later approval replaces it.
    void approveLayout(const std::string& by, const std::string& note,
                       const std::map<std::string, double>& figures);
    LayoutState currentState() const { return approvalBook().state(layout()); }
    const ApprovalBook& approvalBook() const;

    // Edits. `gesture`: edits with the same non-zero number are undone in one step.
    void changeLayout(const QString& name, const Layout& layout, int gesture = 0);
    void changePlanned(const QString& name, const PlannedStone& planned, int gesture = 0);
    // Beside the current one, and becomes the current one. Its name is made unlike the others'.
    void addLayout(const QString& name, Layout layout);
    void removeLayout(int index);  // refused for the last one
    void renameLayout(int index, const std::string& name);
    void placeCut(const QString& name, const Placement& placement, int gesture = 0);
    void changeProportion(const QString& name, const std::string& key, double value, int gesture);
    void changeCut(const std::string& cut);
    // Refused when the facets no longer enclose a stone.
    void changeFacets(const QString& name, const std::vector<FacetEdit>& edits, int gesture);
    void changeDefects(const QString& name, std::vector<Defect> defects,
                       std::vector<DefectCluster> clusters);
    void changeScaleWeight(std::optional<double> scale_ct);
    void changeTrusted(TrustedWeight trusted);
    void changeAxes(const QString& name, std::optional<CrystalAxes> axes);
    void changeColour(ColourRecord colour);  // throws Error for a record that makes no sense
    void renameStone(const std::string& name);

    int newGesture() { return ++lastGesture_; }
    EditHistory* history() { return &history_; }

  Q_SIGNALS:
    void opened();          // another stone, or none
    void stoneChanged();    // defects, scale weight or name of the same rough
    void layoutChanged();   // the current layout, its present stone, or which they are
    void layoutsChanged();  // the list of layouts
    void modifiedChanged(bool modified);
    void pathChanged();
    void approved();
    void edited();  // something that belongs into a draft changed
    void saved();

  private:
    void changeStone(const QString& name, Stone changed);
    void apply(History::State state);

    std::shared_ptr<const Stone> stone_;
    int roughNumber_ = 0;
    std::vector<Layout> layouts_;
    int current_ = 0;
    int stoneIndex_ = 0;
    std::filesystem::path path_;
    bool neverSaved_ = false;  // taken in from a mesh, or recovered
    bool approvalsSaved_ = true;
    std::vector<Approval> approvals_;
    // Made when it is asked for, for this version of the stone and so many approvals.
    mutable ApprovalBook book_;
    mutable std::shared_ptr<const Stone> bookStone_;
    mutable std::size_t bookCount_ = 0;
    FileNotes notes_;
    OpenLock lock_;
    int lastGesture_ = 0;
    EditHistory history_;
};

}  // namespace macle::app
