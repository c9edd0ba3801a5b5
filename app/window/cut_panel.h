// CutPanel: what the planner may change, as numbers: the cut, its proportions, its placement, the
// polishing allowance; and the three ways to let the program look for a better place.
// Shows the layout it is given and reports edits; holds no state of its own.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>
#include <string>
#include <vector>

#include "app/window/angles.h"
#include "core/archive/stone_file.h"
#include "core/cut/library.h"

class QAction;
class QComboBox;
class QFormLayout;
class QLabel;

namespace macle::app {

class NumberBox;
class ProfileView;

struct SearchBudget {
    double seconds = 10.0;
    long long poses = 0;  // > 0: ends by count, repeatable on any machine
};

class CutPanel : public QWidget {
    Q_OBJECT
  public:
    // The actions get a button each: the first below the proportions, the others in fitBox().
    CutPanel(QAction* facets, QAction* largestHere, QAction* settle, QAction* findBest,
             QWidget* parent = nullptr);

    // The buttons and the length of the search: to be put where they never scroll away.
    QWidget* fitBox() const { return fitBox_; }

    void display(const PlannedStone& planned);
    void listCuts();  // anew, after one was added
    // Why the last edit was refused; empty to take it away.
    void displayTrouble(const QString& trouble);
    SearchBudget searchBudget() const;
    void themeChanged();

  Q_SIGNALS:
    void cutChosen(const std::string& cut);
    void proportionEdited(const std::string& key, const QString& label, double value);
    void placementEdited(const QString& name, const macle::Placement& placement);
    void allowanceEdited(double allowance_mm);

  private:
    NumberBox* addNumber(QFormLayout* form, const QString& label, const char* name,
                         const QString& unit, double low, double high, int decimals, double step,
                         const QString& tip);
    QWidget* makeFitBox(QAction* largestHere, QAction* settle, QAction* findBest);
    void buildProportions(const CutInfo& info);
    void displayProfile(const PlannedStone& planned);
    void reportAngles();
    void reportCentre();
    void reportSize();

    PlannedStone shown_;
    PoseAngles angles_;  // of the shown rotation
    QComboBox* cutChoice_ = nullptr;
    QWidget* proportionsBox_ = nullptr;
    std::string proportionsOf_;
    std::vector<std::string> cutFiles_;  // of the cut shown; a stone may bring another form of it
    ProfileView* profile_ = nullptr;
    std::optional<PlannedStone> profileOf_;  // its placement does not count
    std::vector<std::pair<ProportionInfo, NumberBox*>> proportions_;
    NumberBox* tilt_ = nullptr;
    NumberBox* azimuth_ = nullptr;
    NumberBox* spin_ = nullptr;
    NumberBox* x_ = nullptr;
    NumberBox* y_ = nullptr;
    NumberBox* z_ = nullptr;
    NumberBox* size_ = nullptr;
    NumberBox* allowance_ = nullptr;
    NumberBox* budget_ = nullptr;
    QComboBox* budgetUnit_ = nullptr;
    QLabel* facetChanges_ = nullptr;
    QLabel* trouble_ = nullptr;
    QWidget* fitBox_ = nullptr;
};

}  // namespace macle::app
