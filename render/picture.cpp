#include "render/picture.h"

#include <vtkCamera.h>
#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkPNGWriter.h>
#include <vtkPointData.h>
#include <vtkRenderer.h>
#include <vtkUnsignedCharArray.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <fstream>

#include "core/base/error.h"
#include "render/egl_context.h"
#include "render/surfaceless_window.h"

namespace macle::render {

namespace {

constexpr int kLargest_px = 8192;

// Draws into a window of its own; the renderer leaves it again whatever happens.
class PictureWindow {
  public:
    PictureWindow(vtkRenderer& renderer, int width_px, int height_px, double pixelRatio)
        : renderer_(renderer) {
        window_->SetDPI(static_cast<int>(std::lround(72.0 * pixelRatio)));
        window_->SetSize(width_px, height_px);
        window_->AddRenderer(&renderer_);
    }
    ~PictureWindow() {
        renderer_.ReleaseGraphicsResources(window_);
        window_->RemoveRenderer(&renderer_);
        window_->Finalize();
    }
    PictureWindow(const PictureWindow&) = delete;
    PictureWindow& operator=(const PictureWindow&) = delete;

    bool supported() { return window_->start(); }

    vtkSmartPointer<vtkUnsignedCharArray> draw() {
        window_->Render();
        auto pixels = vtkSmartPointer<vtkUnsignedCharArray>::New();
        const int* size = window_->GetSize();
        window_->GetPixelData(0, 0, size[0] - 1, size[1] - 1, 0, pixels, 0);
        return pixels;
    }

  private:
    vtkRenderer& renderer_;
    vtkNew<SurfacelessWindow> window_;
};

// A picture narrower than high shows the scene as wide as a square one would.
class FittedScale {
  public:
    FittedScale(vtkCamera& camera, double aspect) : camera_(camera) {
        scale_ = camera_.GetParallelScale();
        camera_.SetParallelScale(scale_ / std::min(aspect, 1.0));
    }
    ~FittedScale() { camera_.SetParallelScale(scale_); }
    FittedScale(const FittedScale&) = delete;
    FittedScale& operator=(const FittedScale&) = delete;

  private:
    vtkCamera& camera_;
    double scale_;
};

std::unique_ptr<EglContext> contextOrError() {
    std::string why;
    auto context = EglContext::make(why);
    if (!context) {
        throw Error(ErrorCode::Io, "no picture can be drawn on this machine: " + why,
                    "install Mesa's EGL and OpenGL drivers (libegl1, libgl1-mesa-dri), or use "
                    "another machine");
    }
    return context;
}

vtkSmartPointer<vtkImageData> imageOf(const Picture& picture) {
    auto image = vtkSmartPointer<vtkImageData>::New();
    image->SetDimensions(picture.width_px, picture.height_px, 1);
    image->AllocateScalars(VTK_UNSIGNED_CHAR, 3);
    auto* target = static_cast<std::uint8_t*>(image->GetScalarPointer());
    const std::size_t row = 3 * static_cast<std::size_t>(picture.width_px);
    for (int y = 0; y < picture.height_px; ++y) {  // VTK's rows run from the bottom
        std::copy_n(picture.rgb.begin() + static_cast<std::ptrdiff_t>(y * row), row,
                    target + static_cast<std::size_t>(picture.height_px - 1 - y) * row);
    }
    return image;
}

}  // namespace

PictureSupport pictureSupport() {
    PictureSupport support;
    const auto context = EglContext::make(support.reason);
    if (!context) return support;
    vtkNew<vtkRenderer> empty;
    PictureWindow window(*empty, 16, 16, 1.0);
    support.available = window.supported();
    if (!support.available) support.reason = "the OpenGL driver is too old (3.2 is needed)";
    return support;
}

Picture drawPicture(Scene& scene, int width_px, int height_px, Quality quality, double pixelRatio) {
    if (width_px < 1 || height_px < 1 || width_px > kLargest_px || height_px > kLargest_px) {
        throw Error(ErrorCode::BadUsage,
                    "a picture of " + std::to_string(width_px) + " x " + std::to_string(height_px) +
                        " pixels cannot be made",
                    "give a width and height from 1 to " + std::to_string(kLargest_px));
    }
    if (!(pixelRatio >= 0.5 && pixelRatio <= 8.0)) {
        throw Error(ErrorCode::BadUsage, "the picture's pixel ratio is out of range",
                    "give a ratio from 0.5 to 8");
    }
    vtkRenderer& renderer = *scene.renderer();
    if (renderer.GetRenderWindow() != nullptr) {
        throw Error(ErrorCode::BadUsage, "the scene is shown in a window already",
                    "make a scene of its own for the picture");
    }
    const auto context = contextOrError();
    scene.setQuality(quality);
    vtkSmartPointer<vtkUnsignedCharArray> pixels;
    {
        PictureWindow window(renderer, width_px, height_px, pixelRatio);
        const FittedScale fitted(*renderer.GetActiveCamera(),
                                 static_cast<double>(width_px) / height_px);
        pixels = window.draw();
    }
    const std::size_t row = 3 * static_cast<std::size_t>(width_px);
    const std::size_t rows = static_cast<std::size_t>(height_px);
    if (static_cast<std::size_t>(pixels->GetNumberOfValues()) != row * rows) {
        throw Error(ErrorCode::Io, "the drawn picture could not be read back",
                    "try a smaller picture, or another OpenGL driver");
    }
    Picture picture{width_px, height_px, std::vector<std::uint8_t>(row * rows)};
    for (std::size_t y = 0; y < rows; ++y)  // OpenGL's rows run from the bottom
        std::copy_n(pixels->GetPointer(static_cast<vtkIdType>((rows - 1 - y) * row)), row,
                    picture.rgb.begin() + static_cast<std::ptrdiff_t>(y * row));
    return picture;
}

void writePicture(Scene& scene, int width_px, int height_px, const std::filesystem::path& file,
                  double pixelRatio) {
    const Picture picture = drawPicture(scene, width_px, height_px, Quality::Rest, pixelRatio);
    vtkNew<vtkPNGWriter> writer;
    writer->SetInputData(imageOf(picture));
    writer->WriteToMemoryOn();
    writer->Write();
    vtkUnsignedCharArray* bytes = writer->GetResult();
    std::ofstream out(file, std::ios::binary | std::ios::trunc);
    if (bytes != nullptr)
        out.write(reinterpret_cast<const char*>(bytes->GetPointer(0)),
                  static_cast<std::streamsize>(bytes->GetNumberOfValues()));
    out.close();
    if (bytes == nullptr || !out) {
        throw Error(ErrorCode::Io, "the picture " + file.string() + " could not be written",
                    "check that the folder exists, is writable and has room");
    }
}

}  // namespace macle::render
