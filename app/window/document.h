// Document: the open stone with its layouts, every change of it named and undoable.
// The stone is shared as an immutable object, so that background work may keep the version it
// started with. A change that core would refuse throws Error and leaves everything as it was.
// Thread contract: GUI thread.
#pragma once

#include <QObject>
#include <QUndoStack>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

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

    // Replaces everything; clears the history. `path` is empty when the content has no stone file.
    void reset(std::shared_ptr<const Stone> stone, std::vector<Layout> layouts,
               std::filesystem::path path);
    void close();

    const std::filesystem::path& path() const { return path_; }
    void save(const std::filesystem::path& path);  // throws Error
    bool isModified() const;

    // Edits. `gesture`: edits with the same non-zero number are undone in one step.
    void changeLayout(const QString& name, const Layout& layout, int gesture = 0);
    void placeCut(const QString& name, const Placement& placement, int gesture = 0);
    void changeProportion(const QString& name, const std::string& key, double value, int gesture);
    void changeCut(const std::string& cut);
    void changeDefects(const QString& name, std::vector<Defect> defects,
                       std::vector<DefectCluster> clusters);
    void changeScaleWeight(std::optional<double> scale_ct);
    void renameStone(const std::string& name);

    int newGesture() { return ++lastGesture_; }
    QUndoStack* history() { return &history_; }

  Q_SIGNALS:
    void opened();         // another stone, or none
    void stoneChanged();   // defects, scale weight or name of the same rough
    void layoutChanged();  // cut, proportions, placement or rules of the current layout
    void modifiedChanged(bool modified);
    void pathChanged();

  private:
    friend class LayoutEdit;
    friend class StoneEdit;
    struct StoneFacts;  // all of a stone but its rough
    void setLayout(int index, const Layout& layout);
    void setFacts(const StoneFacts& facts);
    StoneFacts facts() const;
    void pushFacts(const QString& name, StoneFacts after);

    std::shared_ptr<const Stone> stone_;
    int roughNumber_ = 0;
    std::vector<Layout> layouts_;
    int current_ = 0;
    std::filesystem::path path_;
    bool neverSaved_ = false;  // taken in from a mesh
    int lastGesture_ = 0;
    QUndoStack history_;
};

bool sameLayout(const Layout& a, const Layout& b);

}  // namespace macle::app
