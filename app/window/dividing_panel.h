// DividingPanel: how the layout divides the rough: its stones and saws, the numbers of the saw that
// is chosen, and what becomes of each carat. Shows what it is given and tells what is wished.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "core/appraise/whole_layout.h"
#include "core/divide/layout.h"
#include "core/stone/stone.h"

class QCheckBox;
class QComboBox;
class QFormLayout;
class QLabel;
class QPushButton;
class QTableWidget;

namespace macle::app {

class NumberBox;

class DividingPanel : public QWidget {
    Q_OBJECT
  public:
    explicit DividingPanel(QWidget* parent = nullptr);

    void display(const Stone& stone, const Layout& layout, int currentStone, int chosenSaw);
    // Weights of the same layout; those of another division are passed over.
    void displayWeights(const std::shared_ptr<const WholeLayout>& whole);
    void displayTrouble(const QString& trouble);  // why there are no weights
    void displayNothing();
    void setChangeable(bool changeable);
    void themeChanged();

  Q_SIGNALS:
    void stoneChosen(int index);
    void sawChosen(int index);  // -1: none
    void addSawAsked();
    void removeSawAsked();
    void addStoneAsked();
    void removeStoneAsked();
    void pieceChosen(int piece);  // for the stone that is chosen
    void sawEdited(const QString& name, const macle::Saw& saw);

  private:
    QWidget* makeStones();
    QWidget* makeSaws();
    QWidget* makeSawNumbers();
    void fillSawNumbers();
    void writeStones();
    void writeSums();
    void editSaw(const QString& name, const std::function<void(Saw&)>& change);
    const Saw* saw() const;

    std::optional<Layout> layout_;
    std::optional<CrystalAxes> axes_;
    Eigen::Vector3d middle_mm_ = Eigen::Vector3d::Zero();  // of the rough, about which saws turn
    std::shared_ptr<const WholeLayout> whole_;
    QString trouble_;
    int stone_ = 0;
    int saw_ = -1;
    bool filling_ = false;
    bool changeable_ = true;
    QTableWidget* stones_ = nullptr;
    QTableWidget* saws_ = nullptr;
    QComboBox* piece_ = nullptr;
    QPushButton* addStone_ = nullptr;
    QPushButton* removeStone_ = nullptr;
    QPushButton* addSaw_ = nullptr;
    QPushButton* removeSaw_ = nullptr;
    QWidget* numbers_ = nullptr;
    QComboBox* runs_ = nullptr;  // along which plane
    QPushButton* snap_ = nullptr;
    NumberBox* azimuth_ = nullptr;
    NumberBox* tilt_ = nullptr;
    NumberBox* offset_ = nullptr;
    NumberBox* kerf_ = nullptr;
    QCheckBox* narrowing_ = nullptr;
    NumberBox* exit_ = nullptr;
    NumberBox* beam_ = nullptr;
    QLabel* sums_ = nullptr;
    QLabel* open_ = nullptr;
    QLabel* caution_ = nullptr;
};

}  // namespace macle::app
