// VolumeDialog: defects from a scanned volume. Shows how the grey values are spread, takes the
// range that belongs to defects and the smallest size, and shows at once what that finds. Thread
// contract: GUI thread; the search runs on a job of its own.
#pragma once

#include <QPointer>
#include <QTimer>
#include <memory>

#include "app/window/job.h"
#include "app/window/steady_dialog.h"
#include "core/stone/stone.h"
#include "core/stone/volume_defects.h"

class QComboBox;
class QLabel;
class QPushButton;

namespace macle::app {

class GreyCurve;
class NumberBox;

class VolumeDialog : public SteadyDialog {
    Q_OBJECT
  public:
    VolumeDialog(std::shared_ptr<const Volume> volume, std::shared_ptr<const Stone> stone,
                 QWidget* parent);
    ~VolumeDialog() override;

    // What the present range finds; complete once searching is false.
    const VolumeDefects& found() const { return *found_; }
    bool searching() const { return !job_.isNull() || timer_.isActive(); }

  Q_SIGNALS:
    void previewed(const std::vector<macle::Defect>& defects);

  private:
    void soon();
    void search();
    void show(const std::shared_ptr<const VolumeDefects>& found);

    std::shared_ptr<const Volume> volume_;
    std::shared_ptr<const Stone> stone_;
    std::shared_ptr<const VolumeDefects> found_ = std::make_shared<VolumeDefects>();
    QTimer timer_;
    QPointer<Job> job_;
    GreyCurve* curve_ = nullptr;
    NumberBox* low_ = nullptr;
    NumberBox* high_ = nullptr;
    NumberBox* smallest_ = nullptr;
    QComboBox* kind_ = nullptr;
    NumberBox* severity_ = nullptr;
    QLabel* result_ = nullptr;
    QPushButton* add_ = nullptr;
};

}  // namespace macle::app
