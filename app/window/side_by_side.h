// SideBySide: two to four layouts of one stone side by side, with cameras and a section that go
// together, and below them the table of their differences. Shows what it is given: figures and
// drawings are made outside.
// Thread contract: GUI thread. Needs what StoneView needs.
#pragma once

#include <QWidget>
#include <memory>

#include "app/window/camera_link.h"
#include "app/window/comparison_views.h"
#include "app/window/difference_table.h"
#include "app/window/side_pane.h"

class QCheckBox;
class QComboBox;
class QLabel;
class QSlider;
class QStackedWidget;

namespace macle::app {

class SideBySide : public QWidget {
    Q_OBJECT
  public:
    static constexpr int kFewest = 2, kMost = 4;

    explicit SideBySide(QWidget* parent = nullptr);
    ~SideBySide() override;

    // Fewer than kFewest: asks for more; more than kMost: the first ones. The rows of the table
    // stand empty until displayFigures.
    void display(std::shared_ptr<const Stone> stone, const std::vector<SideLayout>& sides);
    // One value for each layout shown. Throws as DifferenceTable::display.
    void displayFigures(const std::vector<ShownRow>& rows);
    // The same from a comparison of the layouts shown, in their order, with its base.
    void displayComparison(const Comparison& comparison);
    // While figures are on their way; empty: none.
    void setBeingComputed(const QString& what);

    int shown() const { return static_cast<int>(shown_); }
    SidePane* pane(int index) const { return panes_.at(static_cast<std::size_t>(index)); }
    DifferenceTable* table() const { return table_; }

  Q_SIGNALS:
    void layoutChosen(int index);  // of those given
    void baseChanged(int index);

  protected:
    void changeEvent(QEvent* event) override;

  private:
    QWidget* makeControls();
    void applyTheme();
    void look(render::ViewFrom from);
    void applySection();

    std::shared_ptr<const Stone> stone_;
    std::vector<QString> names_;
    std::size_t shown_ = 0;
    std::vector<SidePane*> panes_;
    CameraLink link_;
    QStackedWidget* stack_ = nullptr;
    QCheckBox* together_ = nullptr;
    QCheckBox* section_ = nullptr;
    QComboBox* across_ = nullptr;
    QSlider* depth_ = nullptr;
    DifferenceTable* table_ = nullptr;
};

}  // namespace macle::app
