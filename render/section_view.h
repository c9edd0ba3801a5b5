// The section plane: what it cuts is filled and outlined on it.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPlane.h>

#include <Eigen/Core>
#include <memory>
#include <vector>

#include "core/stone/defect.h"
#include "render/edge_lines.h"
#include "render/palette.h"
#include "render/section_shapes.h"

namespace macle::render {

class OrderedRenderer;

class SectionView {
  public:
    explicit SectionView(OrderedRenderer& renderer);
    ~SectionView();

    // Keeps n.x <= offset. Normal zero: off. Throws Error{BadUsage} on a value that is not finite.
    void setPlane(const Eigen::Vector3d& normal, double offset_mm);
    vtkPlane* plane() const { return on_ ? plane_.Get() : nullptr; }  // null: off
    const CutPlane* cutPlane() const { return on_ ? &cut_ : nullptr; }

    void setPalette(const Palette& colours);

    // Surfaces in the stone frame; empty ones leave nothing. `step_mm` is a length too small to
    // see, by which each kind lies above the one before.
    void cutRough(const TriangleMesh& mesh, double step_mm);
    void cutDesign(const std::vector<ConvexSolid>& parts, double step_mm);
    void cutOthers(const std::vector<std::vector<ConvexSolid>>& stones, double step_mm);
    void cutFinished(const TriangleMesh& mesh, double step_mm);  // instead of the design
    void cutDefects(const std::vector<Defect>& defects, const std::vector<TriangleMesh>& surfaces,
                    double step_mm);

    void follow(vtkRenderer& renderer, double pixelRatio);  // before each frame

  private:
    struct Area;
    void show(Area& area, EdgeLines* lines, const SectionShape& shape, double lift_mm);

    OrderedRenderer& renderer_;
    vtkNew<vtkPlane> plane_;
    CutPlane cut_;
    bool on_ = false;
    std::unique_ptr<Area> rough_;
    std::unique_ptr<Area> others_;
    std::unique_ptr<Area> design_;
    std::vector<std::unique_ptr<Area>> defects_;
    EdgeLines roughLines_{nullptr};
    EdgeLines otherLines_{nullptr};
    EdgeLines designLines_{nullptr};
};

}  // namespace macle::render
