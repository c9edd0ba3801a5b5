// SidePane: one of the layouts that stand side by side: its name, state and weight over a view of
// the rough with its saws and all its stones.
// Thread contract: GUI thread; readySide any thread.
#pragma once

#include <QWidget>
#include <optional>

#include "app/window/stone_view.h"
#include "core/base/progress.h"
#include "core/divide/division.h"
#include "core/divide/layout.h"

class QLabel;
class QPushButton;

namespace macle::app {

// A layout made ready to be drawn.
struct SideLayout {
    Layout layout;
    QString state;                                 // "draft", "approved" or "replaced"
    std::optional<double> weight_ct;               // of all its stones; none: not known yet
    std::vector<std::vector<ConvexSolid>> solids;  // of each stone, for size 1
    std::vector<render::SawOutline> saws;
};

// `cutter` must be made from the stone's rough. Throws what designOf, makeSolid and divide throw.
SideLayout readySide(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                     const QString& state, std::optional<double> weight_ct,
                     Progress* progress = nullptr);

class SidePane : public QWidget {
    Q_OBJECT
  public:
    explicit SidePane(QWidget* parent = nullptr);

    void display(const Stone& stone, const SideLayout& side);
    void setTheme(render::Theme theme);
    StoneView* view() const { return view_; }

  Q_SIGNALS:
    void asked();

  protected:
    bool eventFilter(QObject* watched, QEvent* event) override;

  private:
    QLabel* name_ = nullptr;
    QLabel* facts_ = nullptr;
    QPushButton* choose_ = nullptr;
    StoneView* view_ = nullptr;
};

}  // namespace macle::app
