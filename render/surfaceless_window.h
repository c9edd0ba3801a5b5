// VTK's render window on an OpenGL context made by us. Its own start asks the GL loader for an X
// display, which there is none of; this one loads the functions without.
#pragma once

#include <vtkGenericOpenGLRenderWindow.h>

namespace macle::render {

class SurfacelessWindow : public vtkGenericOpenGLRenderWindow {
  public:
    static SurfacelessWindow* New();
    vtkTypeMacro(SurfacelessWindow, vtkGenericOpenGLRenderWindow)

        // Whether the current context's functions were found and are recent enough (OpenGL 3.2).
        bool start();

    void OpenGLInitContext() override;

  protected:
    SurfacelessWindow();
    ~SurfacelessWindow() override;
};

}  // namespace macle::render
