// SectionPlane: the fields of a section through any plane: its normal and its distance from the
// origin of the scan, typed, or through three points picked on the stage.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>
#include <optional>

#include "core/stone/pick.h"

class QLabel;
class QPushButton;

namespace macle::app {

class NumberBox;

// The plane through three points. Nothing when they lie on one line (nearer to one than scan noise
// can tell).
std::optional<OpenPlane> planeThrough(const std::vector<Eigen::Vector3d>& points_mm);

class SectionPlane : public QWidget {
    Q_OBJECT
  public:
    explicit SectionPlane(QWidget* parent = nullptr);

    // Nothing when the normal has no length.
    std::optional<OpenPlane> plane() const;
    void setPlane(const OpenPlane& plane);  // reports nothing
    void setOffset(double offset_mm);       // reports nothing

    bool picking() const;
    // One more point from the stage; after the third the plane goes through them.
    void addPoint(const Eigen::Vector3d& place_mm);
    const std::vector<Eigen::Vector3d>& points() const { return points_; }
    void stopPicking();

  Q_SIGNALS:
    void changed();
    void hinted(const QString& hint);

  private:
    void tell(const QString& trouble = {});

    NumberBox* normal_[3] = {};
    NumberBox* offset_ = nullptr;
    QPushButton* pick_ = nullptr;
    QLabel* trouble_ = nullptr;
    std::vector<Eigen::Vector3d> points_;
};

}  // namespace macle::app
