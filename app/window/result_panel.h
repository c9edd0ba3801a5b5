// ResultPanel: what the plan does: the large readouts, the defects, and what limits the fit.
// Shows figures it is given; computes none.
// Thread contract: GUI thread.
#pragma once

#include <QTimer>
#include <QWidget>
#include <memory>

#include "app/window/workshop.h"

class QLabel;
class QListWidget;
class QTreeWidget;
class QTreeWidgetItem;

namespace macle::app {

class ResultPanel : public QWidget {
    Q_OBJECT
  public:
    explicit ResultPanel(QWidget* parent = nullptr);

    void displayStone(const Stone& stone);
    void displayFigures(const std::shared_ptr<const Figures>& figures);
    void displayNothing();
    // A newer state is being computed: the figures shown are those of the state before.
    void setComputing(bool computing);
    // What is proven about this cut in this stone; empty when nothing is.
    void displayProof(const QString& sentence, const QString& certificate);
    // Draft, approved or replaced, in words; empty when no stone is open.
    void displayState(const QString& sentence, const QString& more, bool approved);
    void setThirdDecimal(bool shown);
    void themeChanged();

  Q_SIGNALS:
    void defectChosen(int index);  // -1: none
    void policyEdited(int index, macle::DefectPolicy policy);
    void limitChosen(int index);  // -1: all

  private:
    void write();
    void writeFit(const Figures& figures);
    void writeLimits();
    void applyFonts();
    QString weight(double ct, bool forceThird = false) const;

    std::shared_ptr<const Figures> figures_;
    double caratsPerMm3_ = 0.0;  // of the stone, by its trusted weight
    bool thirdDecimal_ = false;
    bool filling_ = false;
    QTimer dim_;
    QLabel* state_ = nullptr;
    bool approved_ = false;
    QLabel* weightCaption_ = nullptr;
    QLabel* computing_ = nullptr;
    QLabel* weight_ = nullptr;
    QLabel* all_ = nullptr;  // of all stones, where there are several
    QLabel* recovery_ = nullptr;
    QLabel* recoveryCaption_ = nullptr;
    QLabel* loss_ = nullptr;
    QLabel* lossCaption_ = nullptr;
    QLabel* basis_ = nullptr;
    QLabel* fit_ = nullptr;
    QLabel* pokes_ = nullptr;
    QLabel* proof_ = nullptr;
    QLabel* clarity_ = nullptr;
    QLabel* defectsCaption_ = nullptr;
    QTreeWidget* defects_ = nullptr;
    QListWidget* limits_ = nullptr;
    QLabel* limitsCaption_ = nullptr;
    QLabel* clarityCaption_ = nullptr;
};

}  // namespace macle::app
