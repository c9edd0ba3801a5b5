#include "render/focus_frame.h"

#include <vtkTextProperty.h>

#include <algorithm>
#include <cmath>

#include "render/ordered_renderer.h"

namespace macle::render {

namespace {

constexpr double kGap_px = 7.0;
constexpr double kLeast_px = 9.0;  // half the frame, however small the thing
constexpr double kCorner_px = 7.0;
constexpr int kFont_px = 13;

}  // namespace

FocusFrame::FocusFrame(OrderedRenderer& renderer) : renderer_(renderer) {
    renderer_.AddActor2D(strokes_.actor());
    renderer_.AddActor2D(text_);
    vtkTextProperty* look = text_->GetTextProperty();
    look->SetFontFamilyToArial();
    look->SetFontSize(kFont_px);
    look->SetVerticalJustificationToBottom();
    clear();
}

FocusFrame::~FocusFrame() = default;

void FocusFrame::around(const std::vector<Eigen::Vector3d>& points_mm, const std::string& label) {
    points_ = points_mm;
    text_->SetInput(label.c_str());
}

void FocusFrame::clear() {
    points_.clear();
    text_->VisibilityOff();
}

void FocusFrame::setPalette(const Palette& colours) {
    colour_ = colours.highlight;
    halo_ = colours.halo;
    vtkTextProperty* look = text_->GetTextProperty();
    look->SetColor(colours.text[0], colours.text[1], colours.text[2]);
    look->SetBackgroundColor(colours.background[0], colours.background[1], colours.background[2]);
    look->SetBackgroundOpacity(0.85);
}

void FocusFrame::follow(double pixelRatio) {
    strokes_.clear();
    text_->SetVisibility(!points_.empty());
    if (!points_.empty()) {
        Eigen::Vector2d low(1e9, 1e9);
        Eigen::Vector2d high(-1e9, -1e9);
        for (const Eigen::Vector3d& point : points_) {
            renderer_.SetWorldPoint(point.x(), point.y(), point.z(), 1.0);
            renderer_.WorldToDisplay();
            const Eigen::Vector2d at(renderer_.GetDisplayPoint());
            low = low.cwiseMin(at);
            high = high.cwiseMax(at);
        }
        const Eigen::Vector2d centre = 0.5 * (low + high);
        const Eigen::Vector2d half =
            (0.5 * (high - low) + Eigen::Vector2d::Constant(kGap_px * pixelRatio))
                .cwiseMax(kLeast_px * pixelRatio);
        const double arm = kCorner_px * pixelRatio;
        for (const double x : {-1.0, 1.0}) {
            for (const double y : {-1.0, 1.0}) {
                const Eigen::Vector2d corner = centre + Eigen::Vector2d(x * half.x(), y * half.y());
                strokes_.path({corner - Eigen::Vector2d(x * arm, 0.0), corner,
                               corner - Eigen::Vector2d(0.0, y * arm)},
                              2.2 * pixelRatio, colour_, 1.4 * pixelRatio, halo_);
            }
        }
        text_->SetPosition(std::round(centre.x() - half.x()),
                           std::round(centre.y() + half.y() + 6.0 * pixelRatio));
    }
    strokes_.finish();
}

}  // namespace macle::render
