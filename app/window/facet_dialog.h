// FacetDialog: changes the facets of the planned cut by hand: tilts, turns, shifts, removes or adds
// one, or a whole row to keep the symmetry. Shows the facets in plan and as a list, the changes
// made so far, and what of the cut no longer bounds it. Holds no state of its own: it reports the
// list of changes as it should be, and shows what it is given. Thread contract: GUI thread.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "app/window/steady_dialog.h"
#include "core/divide/layout.h"
#include "core/solid/convex_solid.h"

class QCheckBox;
class QComboBox;
class QLabel;
class QLineEdit;
class QListWidget;
class QTreeWidget;
class QTreeWidgetItem;

namespace macle::app {

class FacetMap;
class NumberBox;

class FacetDialog : public SteadyDialog {
    Q_OBJECT
  public:
    explicit FacetDialog(QWidget* parent);

    void display(const PlannedStone& planned);
    void displayTrouble(const QString& trouble);  // empty: none
    void choose(const std::string& facet);
    const std::string& chosen() const { return chosen_; }
    void themeChanged();

  Q_SIGNALS:
    // The changes as they should be from now on. `field`: steps of the same one are undone
    // together.
    void changed(const QString& name, const std::vector<macle::FacetEdit>& edits,
                 const QString& field);
    void keepAsked();

  private:
    QWidget* makeChange();
    QWidget* makeAdd();
    QWidget* makeDone();
    void fillTree();
    void fillFields();
    void fillDone();
    const Facet* facetNamed(const std::string& name) const;
    bool wholeRow() const;
    double heldHeight_percent() const;  // where the chosen facet's line stays when it tilts
    void report(FacetEdit edit, const QString& field);
    void addFacets();
    void takeOutChosen();

    PlannedStone shown_;
    Design design_;
    std::vector<ConvexSolid> solids_;
    std::string chosen_;
    double held_percent_ = 0.0;  // of the chosen facet, since it was chosen

    FacetMap* map_ = nullptr;
    QTreeWidget* tree_ = nullptr;
    QComboBox* scope_ = nullptr;
    QComboBox* hold_ = nullptr;
    NumberBox* angle_ = nullptr;
    NumberBox* azimuth_ = nullptr;
    NumberBox* distance_ = nullptr;
    class QPushButton* remove_ = nullptr;
    QLineEdit* newName_ = nullptr;
    QComboBox* newSide_ = nullptr;
    NumberBox* newAngle_ = nullptr;
    NumberBox* newAzimuth_ = nullptr;
    NumberBox* newDepth_ = nullptr;
    NumberBox* newCopies_ = nullptr;
    QCheckBox* newMirrored_ = nullptr;
    QListWidget* done_ = nullptr;
    QPushButton* takeOut_ = nullptr;
    QPushButton* takeOutAll_ = nullptr;
    QPushButton* keep_ = nullptr;
    QLabel* vanished_ = nullptr;
    QLabel* trouble_ = nullptr;
};

}  // namespace macle::app
