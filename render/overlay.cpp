#include "render/overlay.h"

#include <vtkCamera.h>
#include <vtkTextProperty.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "core/base/numbers.h"
#include "render/ordered_renderer.h"

namespace macle::render {

namespace {

constexpr double kMargin_px = 22.0;
constexpr double kBarMost_px = 170.0;
constexpr double kTick_px = 7.0;
constexpr double kArm_px = 25.0;
constexpr int kFont_px = 14;

}  // namespace

double roundLength_mm(double most_mm) {
    if (!(most_mm > 0.0) || !std::isfinite(most_mm)) return 0.0;
    const double power = std::pow(10.0, std::floor(std::log10(most_mm)));
    for (const double step : {5.0, 2.0})
        if (step * power <= most_mm) return step * power;
    return power;
}

Overlay::Overlay(OrderedRenderer& renderer) : renderer_(renderer) {
    renderer_.AddActor2D(strokes_.actor());
    renderer_.AddActor2D(barText_);
    const char* names[3] = {"x", "y", "z"};
    for (std::size_t axis = 0; axis < 3; ++axis) {
        axisText_[axis]->SetInput(names[axis]);
        renderer_.AddActor2D(axisText_[axis]);
    }
    for (vtkTextActor* text :
         {barText_.Get(), axisText_[0].Get(), axisText_[1].Get(), axisText_[2].Get()}) {
        text->GetTextProperty()->SetFontFamilyToArial();
        text->GetTextProperty()->SetJustificationToCentered();
        text->GetTextProperty()->SetVerticalJustificationToCentered();
    }
    barText_->GetTextProperty()->SetVerticalJustificationToBottom();
}

Overlay::~Overlay() = default;

void Overlay::setPalette(const Palette& colours) {
    text_ = colours.text;
    halo_ = colours.background;
    barText_->GetTextProperty()->SetColor(text_[0], text_[1], text_[2]);
    for (auto& text : axisText_)
        text->GetTextProperty()->SetColor(text_[0], text_[1], text_[2]);
}

void Overlay::setVisible(bool visible) {
    visible_ = visible;
}

void Overlay::follow(double pixelRatio) {
    strokes_.clear();
    barText_->SetVisibility(false);
    for (auto& text : axisText_)
        text->SetVisibility(false);
    if (visible_) {
        drawBar(pixelRatio);
        drawCross(pixelRatio);
    }
    strokes_.finish();
}

void Overlay::drawBar(double pixelRatio) {
    const int* size = renderer_.GetSize();
    const double height_mm = 2.0 * renderer_.GetActiveCamera()->GetParallelScale();
    if (size[1] <= 0 || !(height_mm > 0.0)) return;
    const double pixelsPerMm = size[1] / height_mm;
    const double most_px = std::min(kBarMost_px * pixelRatio, 0.4 * size[0]);
    const double length_mm = roundLength_mm(most_px / pixelsPerMm);
    if (length_mm <= 0.0) return;
    // Whole pixels, so that the ends are crisp.
    const double left = std::round(kMargin_px * pixelRatio) + 0.5;
    const double right = left + length_mm * pixelsPerMm;
    const double base = std::round(kMargin_px * pixelRatio) + 0.5;
    const double tick = kTick_px * pixelRatio;
    strokes_.path({{left, base + tick}, {left, base}, {right, base}, {right, base + tick}},
                  1.8 * pixelRatio, text_, 1.2 * pixelRatio, halo_);
    const int decimals = std::max(0, static_cast<int>(-std::floor(std::log10(length_mm) + 1e-9)));
    barText_->SetInput((formatFixed(length_mm, decimals) + " mm").c_str());
    // The text actor scales by the window's dots per inch itself.
    barText_->GetTextProperty()->SetFontSize(kFont_px);
    barText_->SetPosition(0.5 * (left + right), base + 5.0 * pixelRatio);
    barText_->SetVisibility(true);
}

void Overlay::drawCross(double pixelRatio) {
    const int* size = renderer_.GetSize();
    vtkCamera* camera = renderer_.GetActiveCamera();
    Eigen::Vector3d towards;
    Eigen::Vector3d up;
    camera->GetDirectionOfProjection(towards.data());
    camera->GetViewUp(up.data());
    const Eigen::Vector3d right = towards.cross(up).normalized();
    up = right.cross(towards);
    const double arm = kArm_px * pixelRatio;
    const double inset = kMargin_px * pixelRatio + arm + 6.0 * pixelRatio;
    const Eigen::Vector2d centre(size[0] - inset, inset);
    for (int axis = 0; axis < 3; ++axis) {
        const Eigen::Vector3d unit = Eigen::Vector3d::Unit(axis);
        const Eigen::Vector2d tip(unit.dot(right), unit.dot(up));
        const bool away = unit.dot(towards) > 1e-6;
        strokes_.line(centre, centre + arm * tip, 1.8 * pixelRatio, text_, away ? 0.45 : 1.0);
        const double length = tip.norm();
        // An axis that points at the viewer is named beside the centre.
        const Eigen::Vector2d beside =
            length > 0.25 ? Eigen::Vector2d(arm * tip + 9.0 * pixelRatio * tip / length)
                          : Eigen::Vector2d(-9.0 * pixelRatio, -9.0 * pixelRatio);
        vtkTextActor* text = axisText_[static_cast<std::size_t>(axis)];
        text->GetTextProperty()->SetFontSize(kFont_px - 1);
        text->GetTextProperty()->SetOpacity(away ? 0.6 : 1.0);
        text->SetPosition(std::round(centre.x() + beside.x()), std::round(centre.y() + beside.y()));
        text->SetVisibility(true);
    }
}

}  // namespace macle::render
