// A renderer with two ways to draw what is seen through. Rest: depth peeling. Drag: plain blending
// in the order the actors were added, without writing depth; with the back of the rough added
// before its front, every pixel gets stone and defects, then back, then front, which is the right
// order up to folds of the skin (where both layers have nearly the same colour anyway).
#pragma once

#include <vtkOpenGLRenderer.h>

#include <functional>

namespace macle::render {

class OrderedRenderer : public vtkOpenGLRenderer {
  public:
    static OrderedRenderer* New();
    vtkTypeMacro(OrderedRenderer, vtkOpenGLRenderer)

        // Called at the start of each frame, when the size of the view is known.
        void setBeforeFrame(std::function<void()> hook) {
        beforeFrame_ = std::move(hook);
    }
    void setPeeling(bool on);

    void Render() override;
    void DeviceRenderTranslucentPolygonalGeometry(vtkFrameBufferObjectBase* fbo) override;

  protected:
    OrderedRenderer();
    ~OrderedRenderer() override;

  private:
    std::function<void()> beforeFrame_;
};

}  // namespace macle::render
