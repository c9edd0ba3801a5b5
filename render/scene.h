// Scene: the VTK objects of one stone, for the window and for pictures. Knows no Qt widgets.
// Stone frame, mm. Thread contract: use from the thread that owns the GL context.
#pragma once

#include <vtkSmartPointer.h>

#include <Eigen/Geometry>
#include <memory>
#include <optional>
#include <vector>

#include "core/cut/placement.h"
#include "core/solid/convex_solid.h"
#include "core/stone/stone.h"
#include "render/saw_outline.h"

class vtkRenderer;

namespace macle::render {

enum class Theme { Light, Dark };
// Drag: fast ordered passes. Rest: depth peeling and FXAA; the window must have 0 multisamples.
enum class Quality { Drag, Rest };
enum class ViewFrom { Table, Culet, Side, End, Oblique };  // along the axes of the current design

// One of the layout's stones beside the one at hand.
struct OtherStone {
    std::vector<ConvexSolid> partsForSizeOne;
    Placement placement;
};

class Scene {
  public:
    Scene();
    ~Scene();
    Scene(const Scene&) = delete;
    Scene& operator=(const Scene&) = delete;

    // For one window at a time. Lines, marks and text grow with the window's dots per inch / 72;
    // the camera is parallel, and its clipping range is set before each frame.
    vtkRenderer* renderer() const;

    void setTheme(Theme theme);
    void setQuality(Quality quality);

    // Rough (quiet translucent grey) and defects (magma ramp by severity). Frames the camera when
    // the stone is new.
    void setStone(const Stone& stone);
    void clearStone();
    void setRoughVisible(bool visible);
    void setDefectsVisible(bool visible);
    void setHighlightedDefect(int index);  // -1: none

    // The design for size 1; drawn near white with dark edges at the placement. Cheap to move.
    void setDesign(const std::vector<ConvexSolid>& partsForSizeOne);
    void setPlacement(const Placement& placement);
    void setDesignVisible(bool visible);
    // Replaces the drawn design by the exact finished stone (when it pokes out); empty restores it.
    // Facets are told from skin by the design and placement set before. Stone frame, mm.
    void setFinishedMesh(const TriangleMesh& mesh);

    // The layout's other stones, quieter than the design; one without a size is not drawn. Follows
    // setDesignVisible. Throws what placed() throws for a rotation that is none.
    void setOtherStones(const std::vector<OtherStone>& stones);

    // Saw planes as hatched violet outlines, `chosen` stronger (-1: none); on a section the lines
    // of their kerfs. They need not be in the mesh of the stone set.
    void setSaws(const std::vector<SawOutline>& saws, int chosen = -1);
    void setSawsVisible(bool visible);
    const std::vector<SawOutline>& saws() const;
    // The saw that is drawn under a line of sight; see render::pickSaw. Nothing while they are
    // switched off. What stones hide is met too.
    std::optional<SawPick> pickSaw(const Eigen::Vector3d& origin_mm,
                                   const Eigen::Vector3d& direction, double reach_mm) const;

    // Marks where the skin or a defect stops the design (small spheres with a ring on top).
    void setLimits(const std::vector<Eigen::Vector3d>& points_mm);

    void frame();              // camera to show everything
    void look(ViewFrom from);  // keeps the distance
    // Section: hides everything on the positive side of the plane. Normal zero: off.
    void setSection(const Eigen::Vector3d& normal, double offset_mm);

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace macle::render
