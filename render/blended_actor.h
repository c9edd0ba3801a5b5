// An actor drawn among the opaque ones but blended over them and leaving no depth: soft-edged lines
// on a surface, or what shines through a surface in front of it.
#pragma once

#include <vtkOpenGLActor.h>

namespace macle::render {

class BlendedActor : public vtkOpenGLActor {
  public:
    static BlendedActor* New();
    vtkTypeMacro(BlendedActor, vtkOpenGLActor)

        // Draws only where something nearer hides it (instead of only where nothing does).
        void setOnlyHidden(bool on) {
        onlyHidden_ = on;
    }

    void Render(vtkRenderer* renderer, vtkMapper* mapper) override;

  protected:
    BlendedActor();
    ~BlendedActor() override;

  private:
    bool onlyHidden_ = false;
};

}  // namespace macle::render
