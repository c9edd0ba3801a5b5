// AppraisalPanel: every figure that decides about the layout, each with how it came about, the face
// as light shows it, and beside each figure what it was before the last edit where that differs.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>
#include <memory>

#include "app/window/appraiser.h"

class QCheckBox;
class QLabel;
class QToolButton;
class QTreeWidget;

namespace macle::app {

class AppraisalPanel : public QWidget {
    Q_OBJECT
  public:
    explicit AppraisalPanel(QWidget* parent = nullptr);

    AppraisalWishes wishes() const { return wishes_; }
    void setPrices(const std::filesystem::path& file);  // empty: none; kept for next time
    void setRates(const std::filesystem::path& file);

    // `state` names what was appraised: news about another state than the last one make the last
    // the figures before the edit.
    void display(const AppraisalNews& news, const QString& state);
    void displayNothing();
    void setComputing(bool computing);
    void themeChanged();

  Q_SIGNALS:
    void wishesChanged();
    void pricesAsked();
    void ratesAsked();

  private:
    void fill();
    void displayFiles();
    void displayFace(const LayoutAppraisal& appraisal);

    AppraisalWishes wishes_;
    std::vector<FigureLine> now_, before_;
    QString state_;
    QLabel* computing_ = nullptr;
    QLabel* face_ = nullptr;
    QLabel* swatch_ = nullptr;
    QTreeWidget* figures_ = nullptr;
    QLabel* trouble_ = nullptr;
    QLabel* files_ = nullptr;
    QLabel* caution_ = nullptr;
    QCheckBox* doubt_ = nullptr;
    QCheckBox* turns_ = nullptr;
};

}  // namespace macle::app
