// ClusterDialog: the clusters with their defects. They begin by distance; then defects are moved
// one by one, clusters renamed and merged. Nothing is changed until the dialog is accepted.
// Thread contract: GUI thread.
#pragma once

#include "app/window/steady_dialog.h"
#include "core/stone/cluster_edit.h"

class QComboBox;
class QLabel;
class QTreeWidget;
class QTreeWidgetItem;

namespace macle::app {

class NumberBox;

class ClusterDialog : public SteadyDialog {
    Q_OBJECT
  public:
    ClusterDialog(ClusteredDefects all, QWidget* parent);

    const ClusteredDefects& result() const { return all_; }

  Q_SIGNALS:
    void defectChosen(int index);  // to be shown on the stage; -1: none

  private:
    void fill();
    void choose();
    void attempt(const std::function<void()>& change);
    std::vector<int> chosenDefects() const;
    std::vector<int> chosenClusters() const;

    ClusteredDefects all_;
    QTreeWidget* tree_ = nullptr;
    NumberBox* distance_ = nullptr;
    QComboBox* target_ = nullptr;
    QPushButton* move_ = nullptr;
    QPushButton* rename_ = nullptr;
    QPushButton* merge_ = nullptr;
    QLabel* trouble_ = nullptr;
    bool filling_ = false;
};

}  // namespace macle::app
